// The text of the luting page in English.
export const luting = {
  luting: "Cement or bond",
};
