// Elements without a framework: the page is small enough to be redrawn by hand.

type Child = Node | string | null | undefined | false;
type Props = Record<string, unknown>;

function set(e: Element, name: string, v: unknown): void {
  if (v === undefined || v === null || v === false) return;
  if (name.startsWith("on") && typeof v === "function") e.addEventListener(name.slice(2), v as EventListener);
  else if (name === "value" || name === "checked" || name === "selected") (e as unknown as Props)[name] = v;
  else e.setAttribute(name, v === true ? "" : String(v));
}

/** el makes an element: properties that start with "on" are listeners, the rest attributes. */
export function el<K extends keyof HTMLElementTagNameMap>(tag: K, props: Props = {}, ...children: Child[]): HTMLElementTagNameMap[K] {
  const e = document.createElement(tag);
  for (const [k, v] of Object.entries(props)) set(e, k, v);
  e.append(...(children.filter((c) => c !== null && c !== undefined && c !== false) as (Node | string)[]));
  return e;
}

/** svg makes an element of a drawing. */
export function svg(tag: string, props: Props = {}, ...children: Child[]): SVGElement {
  const e = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [k, v] of Object.entries(props)) set(e, k, v);
  e.append(...(children.filter((c) => c !== null && c !== undefined && c !== false) as (Node | string)[]));
  return e;
}
