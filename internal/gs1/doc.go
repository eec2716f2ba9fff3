// Package gs1 reads the element strings that codes on packages carry: a
// product number, a lot, a date of expiry, a serial number, each behind its
// application identifier (GS1 General Specifications, section 3 and 7.8).
//
// Both forms are read: as a scanner sends it, (]d2)01...17...10..., with the
// control character FNC1 sent as byte 29 after an element of variable length;
// and as it is printed, with identifiers in brackets. A wrong check digit, an
// impossible date, an unknown identifier and an element of a wrong length are
// refused with the place in the string.
package gs1
