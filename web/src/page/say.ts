// Sentences that the program writes, in another language. A record keeps its
// sentences in English, as they are printed. They are recognised here by their
// form: a catalogue has a template for each form, with blanks for what differs,
// and a phrase for each fixed part. What is not recognised stays as it is, and
// says so by its language.
//
// The kind of a blank is its first letter: n a number, s a sector's letters, p
// the word of a place, v what stays as it is, any other a part that is said in
// the other language too.

export interface Sentences {
  phrases: Record<string, string>;
  templates: readonly (readonly [string, string])[];
}

export interface Said {
  text: string;
  lang: string;
}

interface Form {
  test: RegExp;
  blanks: string[];
  out: string;
}

const kinds: Record<string, string> = {
  n: "([-−]?\\d+(?:\\.\\d+)?)",
  s: "(M|MB|B|DB|D|DL|L|ML)",
  p: "((?:[Mm]esio|[Dd]isto)(?:buccal|facial|lingual|palatal)|[Mm]esial|[Dd]istal|[Bb]uccal|[Ff]acial|[Ll]ingual|[Pp]alatal)",
};

/** compile makes the form of a template. */
function compile([from, out]: readonly [string, string]): Form {
  const blanks: string[] = [];
  const parts = from.split(/\{(\w+)\}/);
  const last = parts.length - 2;
  const test = parts.map((p, i) => {
    if (i % 2 === 0) return p.replace(/[.*+?^${}()|[\]\\]/g, "\\$&");
    blanks.push(p);
    return kinds[p[0]] ?? (i === last && parts[i + 1] === "" ? "(.+)" : "(.+?)");
  });
  return { test: new RegExp(`^${test.join("")}$`), blanks, out };
}

/** Speaker says the program's sentences in one language. */
export class Speaker {
  private forms: Form[];
  private phrases = new Map<string, string>();
  private known = new Map<string, string | null>();

  constructor(
    private lang: string,
    catalogue: Sentences,
    private figure: (v: number, digits: number) => string,
  ) {
    this.forms = catalogue.templates.map(compile);
    this.learn(Object.entries(catalogue.phrases));
  }

  /** learn adds phrases, such as the names of readings. */
  learn(phrases: Iterable<[string, string]>): void {
    for (const [from, to] of phrases) this.phrases.set(small(from), to);
    this.known.clear();
  }

  /** say is a sentence in this language, or as it was, in English. */
  say(text: string): Said {
    const to = this.part(text);
    return to === null ? { text, lang: "en" } : { text: /^[a-z]/.test(text) ? to : capital(to), lang: this.lang };
  }

  /** part is a part of a sentence; null when it is not recognised. */
  private part(s: string): string | null {
    let to = this.known.get(s);
    if (to !== undefined) return to;
    this.known.set(s, null); // a form that leads back to itself ends here
    to = this.phrases.get(small(s)) ?? this.formed(s) ?? null;
    this.known.set(s, to);
    return to;
  }

  private formed(s: string): string | null {
    for (const f of this.forms) {
      const m = f.test.exec(s) ?? f.test.exec(small(s));
      if (!m) continue;
      const to = f.blanks.map((b, i) => this.blank(b, m[i + 1]));
      if (to.includes(null)) continue;
      return f.out.replace(/\{(\w+)\}/g, (_w, name: string) => to[f.blanks.indexOf(name)]!);
    }
    return null;
  }

  private blank(name: string, s: string): string | null {
    if (name[0] === "v" || name[0] === "s") return s;
    if (name[0] === "n") return this.figure(Number(s.replace("−", "-")), (s.split(".")[1] ?? "").length);
    return this.part(s);
  }
}

/** small is a text with a small first letter, unless it begins with a name or letters that stand for something. */
function small(s: string): string {
  return /^[A-Z](?:[a-z]|\s)/.test(s) ? s[0].toLowerCase() + s.slice(1) : s;
}

const capital = (s: string): string => s[0].toUpperCase() + s.slice(1);
