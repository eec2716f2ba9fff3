package align

import (
	"fmt"
	"strings"
)

// refusal returns nil where the result may be used, else why not.
func (r *registration) refusal(out *Result) error {
	e := &RefusedError{Stop: out.Stop}
	switch out.Stop {
	case Converged, InFrame:
		return nil
	case IterationLimit:
		e.Why = fmt.Sprintf("the motion did not come to rest in %d rounds", mostRounds)
		e.Hint = "give a start, or limit the registration to what has not changed between the scans"
	case TooLittleOverlap:
		e.Why = fmt.Sprintf("%.0f %% of the smaller surface lies within %.2g mm of the other, %.0f %% are needed", 100*out.Overlap, r.Near, 100*r.LeastOverlap)
		e.Hint = "check that both files show the same tooth, in one unit, and that enough of it was scanned"
	case NoMatch:
		e.Why = fmt.Sprintf("laid together as well as they go, half of what comes near is %.2g mm or more apart", out.Quantiles[0])
		e.Hint = "check that both files show the same tooth, in one unit and not mirrored"
	case NotConditioned:
		e.Why = "the surfaces leave open " + strings.Join(out.Condition.Free, " and ")
		e.Hint = "use scans that show more, such as the neighbouring teeth"
	case Ambiguous:
		e.Why = "two motions fit alike"
		e.Hint = "give a start, or use scans that show more"
	}
	return e
}
