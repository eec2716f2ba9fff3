// Package spc has the charts of statistical process control: it follows a
// figure over time and says when it has moved by more than chance explains; and
// what goes with them, the interval of a share and quantiles. It knows no case
// and no scanner.
package spc
