// The text of the outcomes page in German.
import type { outcomes as english } from "./en.outcomes";

export const outcomes: Record<keyof typeof english, string> = {
  outcomes: "Verlauf",
};
