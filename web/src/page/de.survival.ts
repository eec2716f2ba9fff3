// The text of the survival page in German.
import type { survival as english } from "./en.survival";

export const survival: Record<keyof typeof english, string> = {
  survival: "Haltbarkeit",
};
