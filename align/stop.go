package align

// Stop is why a registration ended.
type Stop int

// The reasons for stopping.
const (
	Unfinished       Stop = iota // it was cancelled
	InFrame                      // the surfaces are in one frame already and were left alone
	Converged                    // the motion rests
	IterationLimit               // the motion did not come to rest
	TooLittleOverlap             // the surfaces have too little in common
	NoMatch                      // they lie close, but their shapes differ
	NotConditioned               // the surfaces slide along themselves: some freedom is open
	Ambiguous                    // two motions fit alike
)

var stopWords = [...]string{
	"cancelled",
	"already in one frame",
	"converged",
	"iteration limit",
	"too little overlap",
	"shapes differ",
	"not conditioned",
	"ambiguous",
}

func (s Stop) String() string { return stopWords[s] }

// RefusedError says that two surfaces could not be registered. No motion that
// comes with it may be used.
type RefusedError struct {
	Stop Stop
	Why  string // what was found
	Hint string // what to do
}

func (e *RefusedError) Error() string {
	return "register surfaces: " + e.Stop.String() + ": " + e.Why + "; " + e.Hint
}
