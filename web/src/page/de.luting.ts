// The text of the luting page in German.
import type { luting as english } from "./en.luting";

export const luting: Record<keyof typeof english, string> = {
  luting: "Befestigung",
};
