// The text of the audit page in English.
export const audit = {
  audit: "Audit",
};
