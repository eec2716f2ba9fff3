// Numbers with a fixed count of decimals, as a language writes them.
const made = new Map<string, Intl.NumberFormat>();

/** figure writes a value with its decimals. */
export function figure(locale: string, v: number, digits: number): string {
  const key = `${locale} ${digits}`;
  let f = made.get(key);
  if (!f) made.set(key, (f = new Intl.NumberFormat(locale, { minimumFractionDigits: digits, maximumFractionDigits: digits, useGrouping: false })));
  return f.format(v === 0 ? 0 : v);
}
