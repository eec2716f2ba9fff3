// The text of the visits page in English.
export const visits = {
  visits: "Visits",
};
