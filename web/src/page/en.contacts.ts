// The text of the contacts page in English.
export const contacts = {
  contacts: "Contacts",
};
