// The page's colours as the style sheet has them at the moment, for what is
// drawn on canvas.
export interface Look {
  ink: string;
  quiet: string;
  rule: string;
  well: string;
  paper: string;
  accent: string;
  tooth: string;
  font: string;
}

/** look reads the colours in force. */
export function look(): Look {
  const s = getComputedStyle(document.documentElement);
  const v = (n: string) => s.getPropertyValue(n).trim();
  return { ink: v("--ink"), quiet: v("--quiet"), rule: v("--rule"), well: v("--well"), paper: v("--paper"), accent: v("--accent"), tooth: v("--tooth"), font: getComputedStyle(document.body).fontFamily };
}
