// What is asked and told about visits beside those in hand: the beginning of a
// visit, how long to book, what was learned.
import { api, type Case, got, type Schemas } from "./api";
import { el } from "./dom";
import { number } from "./format";
import { locale, material, said, t } from "./text";
import { toothNumber } from "./tooth";
import { backName, clock, percent, type Plan, span, stageName } from "./visitword";

export interface Choices {
  cases: Case[];
  materials: { name: string; title: string }[];
}

/** materialSelect chooses a material of the table, or none. */
function materialSelect(id: string, c: Choices): HTMLSelectElement {
  return el("select", { id }, el("option", { value: "" }, t("visitsNoMaterial")), ...c.materials.map((m) => el("option", { value: m.name }, material(m.name, m.title))));
}

const field = (label: string, input: HTMLElement) => el("div", { class: "field" }, el("label", { for: input.id }, label), input);

export type Start = Schemas["StartInputBody"];

/** startForm begins a visit on a chair. */
export function startForm(chair: number, c: Choices, start: (s: Start) => void): HTMLElement {
  const cases = el("select", { id: `visit-case-${chair}` }, el("option", { value: "0" }, t("visitsNoCase")), ...c.cases.slice(0, 40).map((k) => el("option", { value: String(k.id) }, [toothNumber(k), k.patient, k.title].filter(Boolean).join(" · "))));
  const of = materialSelect(`visit-material-${chair}`, c);
  const dentist = el("input", { id: `visit-dentist-${chair}`, maxlength: "40", autocomplete: "off" });
  cases.addEventListener("change", () => {
    of.value = c.cases.find((k) => String(k.id) === cases.value)?.material ?? of.value;
  });
  const form = el("form", { class: "visit-start" }, field(t("visitsCase"), cases), field(t("visitsMaterial"), of), field(t("visitsDentist"), dentist), el("button", { type: "submit", class: "visit-begin" }, t("visitsBegin")));
  form.addEventListener("submit", (e) => {
    e.preventDefault();
    start({ chair, case: Number(cases.value), material: of.value, dentist: dentist.value.trim() });
  });
  return form;
}

/** bookForm asks how long has to be booked and answers beside it. */
export function bookForm(plan: Plan, c: Choices, usual: string, failed: (e: Error) => void): HTMLElement {
  const chairs = plan.resources.find((r) => r.name === "chair")?.count ?? 1;
  const of = materialSelect("book-material", c);
  of.value = usual;
  const chair = el("select", { id: "book-chair" }, ...Array.from({ length: chairs }, (_, i) => el("option", { value: String(i + 1) }, String(i + 1))));
  const at = el("input", { id: "book-at", type: "time" });
  const sure = el("select", { id: "book-sure" }, ...[0.8, 0.9, 0.95].map((p) => el("option", { value: String(p), selected: p === 0.9 }, percent(p))));
  const beside = el("select", { id: "book-beside" }, el("option", { value: "alone" }, t("visitsBookAlone")), el("option", { value: "" }, t("visitsBookBeside")));
  const answer = el("div", { class: "visit-answer", role: "status" });
  let turn = 0;
  const ask = async () => {
    const mine = ++turn;
    answer.classList.add("asking");
    try {
      const b = await got(api.GET("/api/visits/booking", { params: { query: { material: of.value, chair: Number(chair.value), sure: Number(sure.value), alone: beside.value === "alone", ...begins(at.value) } } }));
      if (mine !== turn) return;
      answer.classList.remove("asking");
      answer.replaceChildren(
        el("p", { class: "visit-book-minutes" }, t("visitsBookAnswer", { time: span(b.minutes), until: clock(b.until) })),
        el("p", {}, t("visitsBookSpread", { middle: span(b.left.p50), ninety: span(b.left.p90) })),
        b.left.p90 - b.alone.p90 >= 1 ? el("p", {}, t("visitsBookOthers", { ninety: span(b.alone.p90) })) : "",
        b.default ? el("p", { class: "quiet" }, t("visitsBookDefault")) : "",
      );
    } catch (e) {
      if (mine !== turn) return;
      answer.replaceChildren();
      failed(e as Error);
    }
  };
  const form = el("form", { class: "visit-book" }, field(t("visitsMaterial"), of), field(t("visitsBookChair"), chair), field(t("visitsBookAt"), at), field(t("visitsBookSure"), sure), field(t("visitsBookDay"), beside));
  form.addEventListener("change", () => void ask());
  form.addEventListener("submit", (e) => e.preventDefault());
  void ask();
  return el("section", { class: "panel visit-panel" }, el("h2", {}, t("visitsBook")), form, answer);
}

/** begins is the time of day that was typed, today or, when that is over, tomorrow; nothing for now. */
function begins(time: string): { at?: string } {
  const m = /^(\d+):(\d+)/.exec(time);
  if (!m) return {};
  const at = new Date();
  at.setHours(Number(m[1]), Number(m[2]), 0, 0);
  if (at.getTime() < Date.now()) at.setDate(at.getDate() + 1);
  return { at: at.toISOString() };
}

/** usual is the material that most visits had; empty before there are any. */
export function usual(l: Schemas["Lessons"]): string {
  return l.durations.reduce((most, d) => (d.material && d.own > most.own ? { material: d.material, own: d.own } : most), { material: "", own: 0 }).material;
}

/** learned is what the practice's visits say, as tables. */
export function learned(l: Schemas["Lessons"], plan: Plan): HTMLElement {
  const title = (name: string) => stageName(name, plan.stages.find((s) => s.name === name)?.title ?? name);
  const head = (...names: string[]) => el("thead", {}, el("tr", {}, ...names.map((n) => el("th", { scope: "col" }, n))));
  const durations = l.durations;
  const rests = (d: (typeof durations)[number]) => (d.source === "default" && d.status !== "common practice" ? t("visitsOwnPlan") : t(`visitsFrom_${d.source as "own"}`));
  return el(
    "section",
    { class: "panel visit-panel visit-learned" },
    el("h2", {}, t("visitsLearned")),
    durations.some((d) => d.own > 0) ? "" : el("p", { class: "quiet" }, t("visitsDefaults")),
    el(
      "div",
      { class: "visit-tables" },
      el("table", { class: "visit-durations" }, head(t("visitsStageCol"), t("visitsMaterial"), t("visitsOwnCol"), t("visitsMedianCol"), t("visitsNinetyCol"), t("visitsFromCol")), el("tbody", {}, ...durations.map((d) => el("tr", { class: d.source }, el("th", { scope: "row" }, d.again ? t("visitsAgain", { stage: title(d.stage) }) : title(d.stage)), el("td", {}, d.material ? material(d.material) : ""), el("td", { class: "figure" }, String(d.own)), el("td", { class: "figure" }, t("visitsMin", { n: number(d.median, 1) })), el("td", { class: "figure" }, t("visitsMin", { n: number(d.ninety, 1) })), el("td", {}, rests(d)))))),
      el("table", { class: "visit-chances" }, head(t("visitsChanceHead"), t("visitsWentCol"), t("visitsChanceCol"), t("visitsFromCol")), el("tbody", {}, ...l.chances.map((c) => el("tr", {}, el("th", { scope: "row" }, backName(c.back, c.title)), el("td", {}, t("visitsWent", { k: c.went, n: c.passed })), el("td", {}, t("visitsChance", { mean: percent(c.mean), low: percent(c.low), high: percent(c.high) })), el("td", {}, t(`visitsFrom_${c.source as "own"}`)))))),
    ),
    l.left_out.length ? el("details", { class: "visit-left" }, el("summary", {}, `${t("visitsLeftOut")}: ${l.left_out.length}`), el("ul", {}, ...[...l.left_out].reverse().slice(0, 50).map((o) => el("li", {}, t("visitsLeftOutOne", { visit: o.visit, stage: title(o.stage), day: new Intl.DateTimeFormat(locale(), { dateStyle: "medium" }).format(new Date(o.from)) }), ": ", said("span", o.why))))) : "",
  );
}
