// Package visit plans the single visit in which a crown is made: its stages
// with the people and machines they hold, how long they take in this practice,
// when the patient will be ready and how long is to be booked.
//
// A stage begins and ends by a tap. Durations are minutes and times are those
// of the clock that kept the taps, in UTC. What is learned of a duration is a
// distribution, never a single figure: a wide default stated in the plan, made
// narrower by the practice's own visits. What is left of the visits in hand is
// played through many times (Monte Carlo) with all chairs' visits sharing
// dentist, assistant, scanner, mill and furnace; every answer is a quantile of
// these draws. The same taps give the same answer, whatever the number of
// processors.
//
// It knows no case, no patient and no clinical finding.
package visit
