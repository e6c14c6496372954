// How safety is shown: as lines with advice, or alone on the whole screen with the only steps then possible.

import { hear } from "../bus.js";
import { announce, button, h, part } from "../dom.js";
import { change, enter } from "../entries.js";
import { keyOf, kindOf, kinds, wordOf } from "../kinds.js";
import { now } from "../match.js";
import { CLEARED, SIGN, isDangerous, safetyNow, takeBackSign } from "../safety.js";
import { placeOf, sourceWords } from "../words.js";
import { endPart } from "./finish.js";

/** The lines under headings of this level. */
export function safetyLines(lines, heading) {
  return lines.map((line) => h("article", { class: "safety" }, h(heading, {}, "Safety first"), told(line), reasons(line)));
}

const told = (line) => [h("p", { class: "say" }, line.say), line.caution ? h("p", {}, line.caution) : null];

function reasons(line) {
  const sources = line.sources ?? (line.source ? [line.source] : []);
  return [line.why ? h("p", {}, line.why) : null, sources.map((source) => h("p", { class: "source" }, `Source: ${sourceWords(source)}`))];
}

/** The whole screen, whichever was asked for: the lines, then what can be entered about them. It needs no connection. */
export function safetyScreen(id, name, signal) {
  const why = part("Why", {}, h("div"));
  const fill = () => {
    const parts = safetyNow().lines.flatMap(reasons).flat().filter(Boolean);
    why.lastChild.replaceChildren(...parts);
    why.hidden = !parts.length;
  };
  hear("sources", fill, signal);
  fill();
  return [
    linesPart("alarm whole", h("p", {}, h("strong", {}, untilWords(safetyNow())))),
    which(id),
    lifting(id),
    mistakes(id),
    name === "after" ? endPart(id, signal) : h("p", {}, h("a", { class: "block", href: `#/m/${id}/record` }, "Keep the score only")),
    why,
  ];
}

/** The lines above the score, which can still be kept. */
export function safetyAbove(id) {
  return linesPart("alarm", h("a", { class: "block", href: `#/m/${id}/score` }, "Name the sign, clear it or take it back"));
}

function linesPart(look, ...more) {
  const lines = safetyNow().lines.map((line) => h("div", { class: "line" }, told(line)));
  return h("section", { class: look, "aria-labelledby": "safety-first" }, h("h1", { tabindex: "-1", id: "safety-first" }, "Safety first"), h("div", { role: "alert" }, lines), more);
}

function untilWords({ lasting, signs, held }) {
  if (lasting) return "No more tactics in this match.";
  if (signs.length) return "No tactics until a qualified person has cleared the player.";
  return held.length ? "No tactics until the service has answered." : "No tactics while this lasts.";
}

function which(id) {
  const { signs } = safetyNow();
  const chosen = new Set(signs.map((sign) => sign.value));
  const say = (value) => {
    enter(id, "observations", { what: SIGN, ...placeOf(now.score), value }, `Danger sign: ${wordOf(value)}`);
    announce(`Entered. Danger sign: ${wordOf(value)}`);
  };
  const options = kindOf(SIGN).options.filter((value) => !chosen.has(value));
  const words = signs.length ? "Which sign?" : "Any danger sign as well?";
  return part(words, {}, h("div", { class: "row small" }, options.map((value) => button(wordOf(value), () => say(value)))));
}

/** A clearance covers signs that came before it, but not those that end the match for the player, nor thunder. */
function lifting(id) {
  const { lasting, signs } = safetyNow();
  if (lasting || (!signs.length && factsNow().length)) return null;
  const clear = () => {
    enter(id, "observations", { what: CLEARED, ...placeOf(now.score), seen: true }, "Cleared by a qualified person");
    announce("Entered. Cleared by a qualified person. Tactics come back when no other danger is known.");
  };
  return twice("Cleared by a qualified person", kindOf(CLEARED).coach.asks, ["Not yet", "Yes, cleared to play on"], clear);
}

/** The kinds of facts that may stop the match. */
const factsNow = () => kinds.filter((kind) => isDangerous(kind.id, now.match?.[kind.post_in]?.[keyOf(kind)]));

/** What was entered, each with a way to take it back. */
function mistakes(id) {
  const sign = (one) => {
    const words = `Danger sign: ${wordOf(one.value) ?? "not named"}`;
    return mistake(words, "Entered by mistake", "Was it a mistake? Take it back only if nobody showed this sign.", () => takeBackSign(one));
  };
  const fact = (kind) => {
    const [name, value] = [keyOf(kind), now.match[kind.post_in][keyOf(kind)]];
    const words = `${kind.title}: ${value === true ? "yes" : value}`;
    const undo = () => change(id, { [kind.post_in]: { [name]: null } }, `No longer: ${words}`, { [kind.post_in]: { [name]: value } });
    return mistake(words, "Over, or a mistake", "Is this over, or was it entered by mistake?", undo);
  };
  const items = [...safetyNow().signs.map(sign), ...factsNow().map(fact)];
  return items.length ? part("What was entered", {}, h("ul", { class: "plain" }, items)) : null;
}

function mistake(words, press, question, undo) {
  const act = () => {
    undo();
    announce(`Taken back. ${words}`);
  };
  return h("li", {}, h("p", {}, words), twice(press, question, ["No, it stays", "Yes, take it back"], act, `${press}: ${words}`));
}

let asked = null; // the open question: it stays open if the screen is redrawn under it

/** A button that asks again before it acts. The way back comes first, where a hasty second tap would land. */
function twice(words, question, [no, yes], act, label = words) {
  const key = `${now.match?.id} ${label}`;
  const box = h("div", { class: "twice", role: "group", "aria-label": label });
  const ask = () => {
    const back = button(no, close);
    box.replaceChildren(h("p", {}, question), h("div", { class: "row" }, back, button(yes, done)));
    return back;
  };
  const first = button(words, () => {
    asked = key;
    ask().focus();
  }, { "aria-label": label });
  const close = () => {
    asked = null;
    box.replaceChildren(first);
    first.focus();
  };
  const done = () => {
    asked = null;
    box.replaceChildren(first);
    act();
    if (first.isConnected) first.focus();
  };
  if (asked === key) ask();
  else box.append(first);
  return box;
}
