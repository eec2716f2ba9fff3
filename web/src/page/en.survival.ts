// The text of the survival page in English.
export const survival = {
  survival: "Survival",
};
