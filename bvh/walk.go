package bvh

// walk calls visit for every slot of the leaves whose boxes, from the root
// down, are wanted.
func (t *Tree) walk(want func(*box32) bool, visit func(slot int32)) {
	if t.Empty() {
		return
	}
	var stack [maxDepth + 1]int32
	stack[0] = t.root
	for top := 0; top >= 0; {
		ref := stack[top]
		top--
		if ref < 0 {
			first, end := t.leaf(ref)
			for i := first; i < end; i++ {
				visit(i)
			}
			continue
		}
		n := &t.nodes[ref]
		for k := 1; k >= 0; k-- {
			if want(&n.box[k]) {
				top++
				stack[top] = n.ref[k]
			}
		}
	}
}
