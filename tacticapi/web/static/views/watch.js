// What is seen: the pad before the first point; in games, the most valuable question and all others; danger signs.

import { hear } from "../bus.js";
import { button, choice, field, h, part } from "../dom.js";
import * as keep from "../keep.js";
import { DANGERS, asked, subjectWords, subjects } from "../kinds.js";
import { now } from "../match.js";
import { questionCard } from "../question.js";
import { askingPart } from "./asking.js";
import { padScreen } from "./pad.js";
import { undoPart } from "./undo.js";

const AT_ONCE = 12; // questions shown before "More questions"
const NOUNS = ["observations", "facts"];

export const watchScreen = (signal) => (now.moment === "after-warm-up" ? padScreen(signal) : listScreen(signal));

/** What must be entered at once. */
export async function dangerScreen(signal) {
  const cards = DANGERS.map((kind) => questionCard(kind));
  hear("seen match", () => cards.forEach((card) => card.refresh()), signal);
  return [h("h1", { tabindex: "-1" }, "Danger signs"), cards, undoPart(NOUNS, signal)];
}

/** Every question, the starter set first. The search and the place in the list are restored after visiting another screen. */
export async function listScreen(signal) {
  const warmUp = now.moment === "after-warm-up";
  const name = `list/${now.match.id}`;
  const before = keep.read(name, {});
  const place = { warmUp, phase: warmUp ? "warm_up" : "games", subject: "", words: "", shown: AT_ONCE, y: 0, ...(before.warmUp === warmUp ? before : {}) };
  const list = h("div");
  const found = h("p", { role: "status", class: "tally" });
  const more = button("More questions", () => { place.shown += 2 * AT_ONCE; show(); }, { class: "quiet" });
  const show = () => {
    const all = asked(place.phase, place).filter((kind) => !DANGERS.includes(kind));
    const some = all.slice(0, place.shown);
    const made = new Map([...list.children].map((card) => [card.dataset.kind, card]));
    list.replaceChildren(...some.map((kind) => made.get(kind.id) ?? questionCard(kind)));
    found.textContent = all.length ? `${some.length} of ${all.length} questions shown` : "No question matches these words.";
    more.hidden = some.length === all.length;
    keep.write(name, place);
  };
  const set = (what) => (event) => {
    Object.assign(place, { [what]: event.target.value, shown: AT_ONCE });
    show();
  };
  const subject = choice("subject", subjectPairs(place.phase), place.subject, { onchange: set("subject") });
  const phase = choice("phase", [["warm_up", "in the warm-up"], ["games", "in games"]], place.phase, {
    onchange: (event) => {
      subject.replaceChildren(...choice("", subjectPairs(event.target.value)).children);
      place.subject = "";
      set("phase")(event);
    },
  });
  const words = h("input", { type: "search", id: "words", value: place.words, oninput: set("words"), autocomplete: "off" });
  show();
  hear("seen match", () => [...list.children].forEach((card) => card.refresh()), signal);
  hear("drawn", () => window.scrollTo(0, place.y), signal);
  window.addEventListener("scroll", () => { place.y = window.scrollY; }, { signal, passive: true });
  signal.addEventListener("abort", () => keep.write(name, place));
  const filters = h("div", { class: "filters" }, field("Search the questions", words), field("About", subject), field("Seen", phase));
  return [
    h("h1", { tabindex: "-1" }, warmUp ? "Everything else" : "Watch"),
    warmUp ? null : askingPart(signal),
    part("All questions", {}, filters, found, list, more),
    undoPart(NOUNS, signal),
  ];
}

const subjectPairs = (phase) => [["", "everything"], ...subjects(phase).map((subject) => [subject, subjectWords(subject)])];
