package tooth

// Size is the mean size of a crown, mm: length from the cervical line to the
// cusp tip or edge, and the largest widths. The widths at the cervix are zero
// where none is known.
type Size struct {
	Length                                float64
	Mesiodistal, Buccolingual             float64
	CervixMesiodistal, CervixBuccolingual float64
	Status                                string // "read" or "memory"
}

// sizes by arch (upper, lower) and position 1 to 7, after Ash & Nelson,
// Wheeler's Dental Anatomy, Physiology and Occlusion. The upper incisors were
// read in print, the rest is from memory.
var sizes = [2][7]Size{
	{
		{10.5, 8.5, 7.0, 0, 0, "read"},
		{9.0, 6.5, 6.0, 0, 0, "read"},
		{10.0, 7.5, 8.0, 0, 0, "memory"},
		{8.5, 7.0, 9.0, 5, 8, "memory"},
		{8.5, 7.0, 9.0, 0, 0, "memory"},
		{7.5, 10.0, 11.0, 8, 10, "memory"},
		{7.0, 9.0, 11.0, 7, 10, "memory"},
	}, {
		{9.0, 5.0, 6.0, 0, 0, "memory"},
		{9.5, 5.5, 6.5, 0, 0, "memory"},
		{11.0, 7.0, 7.5, 0, 0, "memory"},
		{8.5, 7.0, 7.5, 0, 0, "memory"},
		{8.0, 7.0, 8.0, 5, 7, "memory"},
		{7.5, 11.0, 10.5, 9, 9, "memory"},
		{7.0, 10.5, 10.0, 8, 9, "memory"},
	},
}

// Size returns the mean size of the tooth's crown. Third molars vary too much
// for a mean to help; for them ok is false.
func (t Tooth) Size() (s Size, ok bool) {
	if !t.Valid() || t.Position == 8 {
		return Size{}, false
	}
	arch := 0
	if !t.Upper() {
		arch = 1
	}
	return sizes[arch][t.Position-1], true
}
