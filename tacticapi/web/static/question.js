// One question from the vocabulary with its answers: every tap is one entry.

import { announce, button, h } from "./dom.js";
import { change, enter } from "./entries.js";
import { keyOf, pairOf, ratingsOf, wordOf } from "./kinds.js";
import { factOf, now } from "./match.js";
import { seenOf } from "./seen.js";
import { many, placeOf, sentence } from "./words.js";

const LONG = 120; // characters that can be read at a glance

let numbered = 0;

const QUALIFIERS = { wing: ["forehand", "backhand"], court: ["deuce", "ad"], serve: ["first", "second"] };

/** A card for a kind; `card.refresh()` brings its tally up to date. A brief one has one row of answers and no notes. */
export function questionCard(kind, { brief = false } = {}) {
  numbered += 1;
  const id = `q${numbered}`;
  const chosen = {};
  const tally = h("p", { class: "tally" });
  const state = { kind, chosen, answers: h("div", { class: "answers" }) };
  const { asks, notes: hints } = now.match.context.device === "player" ? kind : kind.coach;
  const [lead, ...rest] = asks.length > LONG ? asks.split(/(?<=[.?]) /) : [asks]; // the first sentence of a long question; the rest is a tap away
  const notes = [rest.join(" "), ...hints].filter(Boolean);
  const card = h(
    "article",
    { class: "question", "aria-labelledby": id, "data-kind": kind.id },
    h(brief ? "h2" : "h3", { id }, lead),
    brief ? null : Object.keys(kind.qualifiers).map((name) => qualifier(state, name, () => card.refresh())),
    state.answers,
    h("div", { class: "foot" }, tally, notes.length && !brief ? h("details", {}, h("summary", {}, "How to see it"), notes.map((note) => h("p", {}, note))) : null),
  );
  const ways = kind.ways.filter((way) => !(way === "text" && kind.ways.length > 1)).slice(0, brief ? 1 : undefined);
  state.answers.append(...ways.flatMap((way) => WAYS[way](state)).filter(Boolean));
  card.refresh = () => {
    tally.textContent = tallyWords(kind, toldOf(kind, chosen));
    for (const pressed of state.answers.querySelectorAll("[data-value]")) {
      pressed.setAttribute("aria-pressed", String(isCurrent(kind, chosen, pressed.dataset.value)));
    }
  };
  card.refresh();
  return card;
}

function qualifier(state, name, refresh) {
  const press = (event, value) => {
    state.chosen[name] = value;
    for (const each of event.target.parentElement.querySelectorAll("button")) {
      each.setAttribute("aria-pressed", String(each === event.target));
    }
    refresh();
  };
  const made = ["any", ...QUALIFIERS[name]].map((word) =>
    button(word, (event) => press(event, word === "any" ? undefined : word), { "aria-pressed": String(word === "any") }),
  );
  const label = { wing: "On which wing", court: "In which court", serve: "On which serve" }[name];
  return h("div", { class: "row small", role: "group", "aria-label": label }, h("span", { "aria-hidden": "true" }, label), made);
}

const group = (words, ...buttons) => h("div", { class: "row", role: "group", "aria-label": words }, buttons);
const ratings = (words, ...buttons) => h("div", { class: "ratings", role: "group", "aria-label": words }, buttons);

const WAYS = {
  count: (state) => {
    const [yes, no] = pairOf(state.kind);
    const tap = (count, words) => button(words, () => say(state, { count, of: 1 }, words));
    const or = state.kind.ways.indexOf("count") > 0 ? h("span", { class: "or" }, "Or count, one tap for each chance:") : null;
    return [or, group("Each tap is one chance", tap(1, yes), tap(0, no))];
  },
  counts: (state) =>
    group(
      "Each tap adds one",
      state.kind.options.map((word) => button(word, () => say(state, { counts: { [word]: 1 } }, word))),
    ),
  rating: (state) =>
    ratings(
      "From 0 to 4",
      ratingsOf(state.kind).map((word, n) =>
        button([h("b", {}, String(n)), h("span", {}, word)], () => say(state, { rating: n }, `${n}, ${word}`), { "data-value": n, class: "rating" }),
      ),
    ),
  value: (state) =>
    group(
      "One of these",
      state.kind.options.map((word) => button(wordOf(word), () => say(state, { value: word }, wordOf(word)), { "data-value": word })),
    ),
  seen: (state) =>
    group(
      "Yes or no",
      button("Yes", () => say(state, { seen: true }, "yes"), { "data-value": "true" }),
      button("No", () => say(state, { seen: false }, "no"), { "data-value": "false" }),
    ),
  amount: (state) => typed(state, { type: "number", inputmode: "decimal", step: "any", min: state.kind.low, max: state.kind.high }),
  text: (state) => typed(state, { type: "text", maxlength: 500 }),
};

function typed(state, properties) {
  const { kind } = state;
  const words = properties.type !== "number" ? "In a few words" : kind.unit === "times" ? "How many times" : `A number, in ${kind.unit}`;
  const input = h("input", { ...properties, "aria-label": `${words}: ${kind.title}`, placeholder: words, required: true });
  const submit = (event) => {
    event.preventDefault();
    const number = properties.type === "number";
    say(state, number ? { amount: Number(input.value) } : { value: input.value }, input.value);
    input.value = "";
  };
  return h("form", { class: "row", onsubmit: submit }, input, h("button", {}, "Enter"));
}

/** Enter an answer wherever its kind is posted. */
function say({ kind, chosen }, body, words) {
  const told = [...Object.values(chosen).filter(Boolean), words].join(", ");
  if (kind.post_in === "observations") {
    enter(now.match.id, "observations", { what: kind.id, ...chosen, ...placeOf(now.score), ...body }, `${kind.title}: ${told}`);
  } else {
    const name = keyOf(kind);
    const before = now.match[kind.post_in][name] ?? null;
    change(now.match.id, { [kind.post_in]: { [name]: Object.values(body)[0] } }, `${kind.title}: ${told}`, { [kind.post_in]: { [name]: before } });
  }
  announce(`Entered. ${kind.title}: ${told}`);
}

function toldOf(kind, chosen) {
  if (kind.post_in === "observations") return seenOf(kind.id, chosen);
  const last = factOf(kind);
  return { entries: last === null ? 0 : 1, count: 0, of: 0, counts: {}, last };
}

function isCurrent(kind, chosen, value) {
  const { last } = toldOf(kind, chosen);
  return last !== null && String(last) === value;
}

/** "7 of 9 chances"; "wide 3, T 4"; "last: 1, poor". `seen` is as seenOf tells it. */
function tallyWords(kind, seen) {
  if (!seen.entries) return "Not seen yet.";
  const parts = [];
  if (seen.of) parts.push(`${seen.count} of ${many(seen.of, "chance")}`);
  const counts = Object.entries(seen.counts).map(([word, n]) => `${word} ${n}`);
  if (counts.length) parts.push(counts.join(", "));
  if (seen.last !== null) parts.push(lastWords(kind, seen.last));
  return sentence(parts.join("; "));
}

function lastWords(kind, last) {
  if (typeof last === "boolean") return last ? "last entry: yes" : "last entry: no";
  if (typeof last === "object") return "entered elsewhere in full";
  const rated = typeof last === "number" && kind.ways.includes("rating") && ratingsOf(kind)[last];
  return `last entry: ${wordOf(last)}${rated ? `, ${rated}` : ""}`;
}
