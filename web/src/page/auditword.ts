// Words of the audit.
import type { Schemas } from "./api";
import { number } from "./format";
import { t } from "./text";

/** percent writes a share without its sign. */
const percent = (share: number): string => number(100 * share, share > 0 && share < 0.1 ? 1 : 0);

/** fails says a share failing with its interval in words. */
export function fails(f: Schemas["Share"]): string {
  if (f.of === 0) return t("auditInforms");
  if (f.count === 0) return t("auditNoFails", { n: f.of, high: percent(f.high) });
  return t("auditFails", { k: f.count, n: f.of, share: percent(f.share), low: percent(f.low), high: percent(f.high) });
}

/** caseName is a case of the server by its number. */
export const caseName = (name: string): string => t("auditCase", { n: name.replace("case ", "") });
