// What the parts of a case's page share: which reading is chosen, where it is
// pointed and which section is cut. A part sets, the others follow.

type Listener<T> = (now: T) => void;

/** Shared is a value that tells who follows it. */
export class Shared<T> {
  private listeners = new Set<Listener<T>>();
  constructor(private value: T) {}
  get(): T {
    return this.value;
  }
  set(v: T): void {
    if (Object.is(v, this.value)) return;
    this.value = v;
    for (const l of [...this.listeners]) l(v);
  }
  /** follow calls the listener at each change, and returns how to end that. */
  follow(l: Listener<T>): () => void {
    this.listeners.add(l);
    return () => this.listeners.delete(l);
  }
}
