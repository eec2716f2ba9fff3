// The text of the contacts page in German.
import type { contacts as english } from "./en.contacts";

export const contacts: Record<keyof typeof english, string> = {
  contacts: "Kontakte",
};
