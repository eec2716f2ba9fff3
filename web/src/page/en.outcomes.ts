// The text of the outcomes page in English.
export const outcomes = {
  outcomes: "Outcomes",
};
