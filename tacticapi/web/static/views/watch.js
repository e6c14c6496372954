// What is seen: on top what to look for next, below every question, the starter set first.

import { fetchLooks } from "../advice.js";
import { Refused } from "../api.js";
import { hear } from "../bus.js";
import { button, choice, field, h, part } from "../dom.js";
import { DANGERS, asked, kindOf, subjectWords, subjects } from "../kinds.js";
import { now } from "../match.js";
import { questionCard } from "../question.js";
import { safetyLines } from "./safety.js";
import { undoPart } from "./undo.js";
import { countdown } from "./countdown.js";

const AT_ONCE = 12; // questions shown before "More questions"
const CALM_MS = 8000; // the looks never move under a thumb: they change this long after the last tap, or when asked

export async function watchScreen(signal) {
  const cards = [];
  const refresh = () => cards.forEach((card) => card.refresh());
  hear("seen match", refresh, signal);
  const danger = dangers(cards);
  const toDanger = () => {
    danger.open = true;
    danger.firstChild.focus();
    danger.scrollIntoView();
  };
  const heading = h("h1", { tabindex: "-1" }, now.moment === "after-warm-up" ? "Warm-up" : "Watch");
  return [
    h("div", { class: "head" }, heading, button("Danger signs", toDanger, { class: "danger" })),
    looks(cards, signal),
    danger,
    questions(cards, signal),
    undoPart(["observations", "facts"], signal),
  ];
}

function looks(cards, signal) {
  const list = h("div");
  const message = h("p", { role: "status" });
  const safety = h("div");
  const warmUp = now.moment === "after-warm-up";
  const clock = warmUp ? countdown((left) => ask(left), signal) : null;
  let tapped = 0;
  hear("queue", ({ kind }) => { if (kind === "added") tapped = Date.now(); }, signal);

  const show = () => {
    const found = (now.looks ?? []).filter((look) => kindOf(look.what));
    const made = found.map((look) => questionCard(kindOf(look.what), look.how));
    cards.splice(0, cards.length, ...cards.filter((card) => !list.contains(card)), ...made);
    list.replaceChildren(...made);
    if (now.looks && !made.length) message.textContent = "Nothing more to look for now.";
  };
  const ask = async (left, pressed = false) => {
    if (!pressed && Date.now() - tapped < CALM_MS) return;
    message.textContent = "";
    try {
      await fetchLooks(left);
    } catch (error) {
      message.textContent = error instanceof Refused ? error.message : "What to look for needs a connection. The questions below can be used.";
    }
  };
  hear("looks", ({ notice, safety: lines }) => {
    show();
    safety.replaceChildren(...safetyLines(lines, "h3"));
    if (!now.looks.length && notice.length) message.textContent = notice[0];
  }, signal);
  const left = () => (clock ? clock.minutes() : null);
  if (now.looks) show();
  else if (warmUp) ask(left(), true);
  const next = button("What to look for now", () => ask(left(), true), { class: "quiet" });
  return part("What to look for next", { class: "looks" }, clock?.element ?? null, safety, list, message, next);
}

function dangers(cards) {
  const made = DANGERS.map((kind) => questionCard(kind));
  cards.push(...made);
  return h("details", { class: "dangers" }, h("summary", {}, "Danger: illness, injury, pain, thunder, heat"), made);
}

function questions(cards, signal) {
  const filter = { phase: now.moment === "after-warm-up" ? "warm_up" : "games", subject: "", words: "" };
  const list = h("div");
  const found = h("p", { role: "status", class: "tally" });
  const more = button("More questions", () => { shown += 2 * AT_ONCE; show(); }, { class: "quiet" });
  let shown = AT_ONCE;
  const show = () => {
    const all = asked(filter.phase, filter).filter((kind) => !DANGERS.includes(kind));
    const some = all.slice(0, shown);
    const made = new Map([...list.children].map((card) => [card.dataset.kind, card]));
    const wanted = some.map((kind) => made.get(kind.id) ?? questionCard(kind));
    cards.splice(0, cards.length, ...cards.filter((card) => !list.contains(card)), ...wanted);
    list.replaceChildren(...wanted);
    found.textContent = all.length ? `${some.length} of ${all.length} questions shown` : "No question fits these words.";
    more.hidden = some.length === all.length;
  };
  const set = (name) => (event) => {
    filter[name] = event.target.value;
    shown = AT_ONCE;
    show();
  };
  const subject = choice("subject", subjectPairs(filter.phase), "", { onchange: set("subject") });
  const phase = choice("phase", [["warm_up", "in the warm-up"], ["games", "in games"]], filter.phase, {
    onchange: (event) => {
      subject.replaceChildren(...choice("", subjectPairs(event.target.value)).children);
      filter.subject = "";
      set("phase")(event);
    },
  });
  const words = h("input", { type: "search", id: "words", oninput: set("words"), autocomplete: "off" });
  show();
  const filters = h("div", { class: "filters" }, field("Search the questions", words), field("About", subject), field("Seen", phase));
  return part("All questions", {}, filters, found, list, more);
}

const subjectPairs = (phase) => [["", "everything"], ...subjects(phase).map((subject) => [subject, subjectWords(subject)])];
