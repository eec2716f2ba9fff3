// Timers of what must act or set. Several run at once; they stand at the foot
// of every page and go on while another one is looked at. A timer has a least
// and a most time: it says when each is reached, in words and by sound.
import { el } from "./dom";
import { say, t } from "./text";

interface Timer {
  key: string;
  name: string;
  least: number; // seconds
  most: number;
  ran: number; // ms until it was paused last
  since: number | null; // when it was started again; null while it is paused
  told: 0 | 1 | 2; // the least time, the most time
  root: HTMLElement;
  now: HTMLElement;
  state: HTMLElement;
  hold: HTMLButtonElement;
}

/** clock is a time as minutes and seconds. */
export const clock = (seconds: number): string => `${Math.floor(seconds / 60)}:${String(Math.floor(seconds) % 60).padStart(2, "0")}`;

const all = new Map<string, Timer>();
const followers = new Set<() => void>();
let tray: HTMLElement | null = null; // at the foot of the page, from the first timer on
let ticking = 0;
let sound: AudioContext | null = null;

/** running tells whether there is a timer of that key. */
export const running = (key: string): boolean => all.has(key);

/** follow calls f when timers come and go, until the function that it returns is called. */
export function follow(f: () => void): () => void {
  followers.add(f);
  return () => followers.delete(f);
}

/** start begins a timer, times in seconds; one of that key that runs already begins anew. */
export function start(key: string, name: string, least: number, most: number): void {
  sound ??= new AudioContext(); // a page may sound once something was pressed
  stop(key);
  const now = el("span", { class: "timer-now", dir: "ltr" });
  const state = el("strong", { class: "timer-state", role: "status" });
  const hold = el("button", { type: "button", class: "small timer-hold" });
  const s = say(name);
  const title = el("span", { class: "timer-name", lang: s.lang, dir: "auto" }, s.text);
  const root = el("div", { class: "timer", role: "group", "aria-label": s.text, "data-key": key }, now, el("span", { class: "timer-say" }, title, state), hold, el("button", { type: "button", class: "small timer-stop", onclick: () => stop(key) }, t("lutingTimerStop")));
  const timer: Timer = { key, name, least, most, ran: 0, since: Date.now(), told: 0, root, now, state, hold };
  hold.addEventListener("click", () => toggle(timer));
  all.set(key, timer);
  if (!tray) document.body.append((tray = el("aside", { class: "timers" })));
  tray.setAttribute("aria-label", t("lutingTimers"));
  tray.append(root);
  ticking ||= window.setInterval(tick, 200);
  draw(timer);
  changed();
}

function stop(key: string): void {
  all.get(key)?.root.remove();
  if (!all.delete(key)) return;
  if (all.size === 0) {
    window.clearInterval(ticking);
    ticking = 0;
  }
  changed();
}

function toggle(x: Timer): void {
  if (x.since === null) x.since = Date.now();
  else {
    x.ran = ran(x);
    x.since = null;
  }
  draw(x);
}

const ran = (x: Timer): number => x.ran + (x.since === null ? 0 : Date.now() - x.since);

function changed(): void {
  if (tray) tray.hidden = all.size === 0;
  document.body.classList.toggle("timed", all.size > 0);
  for (const f of followers) f();
}

function tick(): void {
  for (const x of all.values()) {
    const seconds = ran(x) / 1000;
    const due = seconds >= x.most ? 2 : seconds >= x.least && x.least < x.most ? 1 : 0;
    if (due > x.told) {
      x.told = due;
      beep(due === 2 ? 3 : 1);
    }
    draw(x);
  }
}

/** draw shows what is left until the least time, then until the most, then what is over. */
function draw(x: Timer): void {
  const seconds = ran(x) / 1000;
  const [text, words] =
    x.told === 2
      ? [`+${clock(seconds - x.most)}`, t("lutingTimerUp")]
      : x.told === 1
        ? [clock(Math.ceil(x.most - seconds)), t("lutingTimerLeast", { most: clock(x.most) })]
        : [clock(Math.ceil(x.least - seconds)), x.least < x.most ? t("lutingTimerTo", { least: clock(x.least), most: clock(x.most) }) : ""];
  const shown = x.since === null ? [t("lutingTimerPaused"), words].filter(Boolean).join(". ") : words;
  x.now.textContent = text;
  if (x.state.textContent !== shown) x.state.textContent = shown;
  x.hold.textContent = t(x.since === null ? "lutingTimerOn" : "lutingTimerPause");
  x.root.classList.toggle("up", x.told === 2);
}

/** beep sounds n times. */
function beep(n: number): void {
  if (!sound) return;
  void sound.resume();
  for (let i = 0; i < n; i++) {
    const at = sound.currentTime + 0.35 * i;
    const tone = sound.createOscillator();
    const level = sound.createGain();
    tone.frequency.value = 880; // Hz: well above the noise of a suction
    level.gain.setValueAtTime(0.25, at);
    level.gain.exponentialRampToValueAtTime(0.001, at + 0.28);
    tone.connect(level).connect(sound.destination);
    tone.start(at);
    tone.stop(at + 0.3);
  }
}
