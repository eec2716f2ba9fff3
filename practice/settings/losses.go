package settings

import (
	"errors"
	"math"
)

// Losses are what each way a contact can be felt costs the practice, in any
// one unit: open, light, right, heavy.
type Losses [levels]float64

// DefaultLosses are where a practice may start: common practice, without a
// source. An open contact has the crown made again, a heavy one costs minutes.
var DefaultLosses = Losses{Open: 5, Light: 1, Right: 0, Heavy: 1}

// mostLoss bounds a loss: more is a slip of the keyboard.
const mostLoss = 1e6

// Check refuses losses from which nothing can be learned.
func (l Losses) Check() error {
	any := false
	for _, v := range l {
		if !(v >= 0 && v <= mostLoss) || math.IsInf(v, 0) {
			return errors.New("a loss is zero or more: what an open, a light, a right and a heavy contact cost, in any one unit")
		}
		any = any || v > 0
	}
	if !any || l[Right] > min(l[Open], l[Light], l[Heavy]) {
		return errors.New("a right contact cannot cost more than another, and one of them has to cost something")
	}
	return nil
}
