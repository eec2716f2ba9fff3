// Package fhir writes a run as a Bundle of HL7 FHIR R4 (4.0.1): the patient by
// the practice's own code, the procedure with its tooth and the lots that were
// used, the program as a device, an observation for each reading with its unit
// in UCUM, uncertainty and limit, and a document reference with the report.
//
// Teeth are coded by ISO 3950, readings and verdicts by this project's own
// codes, since no public code system names them; each also has its words. No
// interpretation code of another system is used: a verdict compares a
// measurement with a limit and is no finding about a patient.
//
// The same run gives the same bytes: identifiers are made from the content,
// times are those of the record.
package fhir
