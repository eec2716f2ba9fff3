// The text of the visits page in German.
import type { visits as english } from "./en.visits";

export const visits: Record<keyof typeof english, string> = {
  visits: "Termine",
};
