// Package reading holds the Reading type and the table of measurands. It
// knows no algorithm: measure makes readings, conformity judges them.
//
// Lengths are millimetres and angles degrees. Azimuths are degrees around the
// placement axis: 0 mesial, 90 buccal, 180 distal, 270 lingual.
package reading
