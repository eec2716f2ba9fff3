// Package report makes the report of a measured case and the sheet for the
// patient: it chooses the findings, has their pictures and sections drawn and
// hands all to pdf. What it shows is what was measured; it measures nothing.
package report
