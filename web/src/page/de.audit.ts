// The text of the audit page in German.
import type { audit as english } from "./en.audit";

export const audit: Record<keyof typeof english, string> = {
  audit: "Gesamtschau",
};
