// Point by point: a score readable at arm's length, and at the thumb a pad that never moves. At a break, the plan covers it.

import { hear } from "../bus.js";
import { announce, button, h } from "../dom.js";
import { change, enter, newKey } from "../entries.js";
import { entriesOf } from "../log.js";
import { mayRead, now, settleTwice, triesOf, twice } from "../match.js";
import { many, placeOf, scoreWords } from "../words.js";
import { planWords } from "./advice.js";
import { breakPart } from "./break.js";
import { endings } from "./endings.js";
import { undoPart } from "./undo.js";

const TWICE_MS = 800; // nobody plays two points this fast: ignore the second tap

let last = null; // the last point entered on this device: {match, group, winner, own_error, server, court, place}
let left = null; // the break that the coach closed, so that it does not reopen

/** The score; with `alone`, only the score, because safety comes before any plan. */
export async function scoreScreen(signal, alone = false) {
  const board = h("div", { class: "board", "aria-hidden": "true" });
  const told = h("p", { class: "score" });
  const played = h("input", { type: "checkbox", id: "played" });
  const plan = h("span");
  const row = h("label", { class: "check" }, played, plan);
  const middle = h("div", { class: "middle" });
  const pad = h("div", { class: "points" });
  const rest = h("div", { class: "rest" });
  const over = h("div", { class: "over" });
  const byHand = h("a", { class: "block quiet", href: `#/m/${now.match.id}/set` }, "Correct", h("span", { class: "unseen" }, " the score by hand"));
  let drawn = null;

  const show = () => {
    const done = now.moment === "after-match";
    told.textContent = scoreWords(now.score, now.names);
    board.replaceChildren(...boardRows());
    played.disabled = !now.plan || done;
    plan.textContent = alone ? "" : now.plan ? `By the plan${triedWords()}: ${planWords()}` : planWords();
    row.hidden = alone;
    if (drawn !== done) pad.replaceChildren(...(done ? [h("a", { class: "block main", href: `#/m/${now.match.id}/after` }, "The match is over: go to the debrief")] : pointButtons(played, over)));
    drawn = done;
    drawMiddle();
    showBreak();
  };
  const drawMiddle = () => {
    const { of, draw } = middleOf(alone);
    if (middle.of !== of) middle.replaceChildren(draw()); // a chip keeps its place and its focus
    middle.of = of;
  };
  const showBreak = () => {
    const at = alone ? null : breakNow();
    if (at === null || at === left) {
      if (over.firstChild) over.replaceChildren();
      over.at = null;
    } else if (over.at !== at) {
      over.at = at;
      over.replaceChildren(breakPart(signal, () => {
        left = at;
        showBreak();
        pad.querySelector("button")?.focus();
      }));
    }
    for (const part of [top, rest]) part.inert = Boolean(over.firstChild);
    if (over.contains(document.activeElement) || !over.firstChild) return;
    over.querySelector("h2").focus();
  };
  const top = h("div", { class: "sheet" }, alone ? h("h2", {}, "Score only") : null, board, h("div", { class: "row told" }, told, byHand), middle);

  rest.append(row, pad, undoPart(["points", "tries"], signal));
  hear("score match queue", show, signal);
  show();
  if (alone) return [top, rest, h("a", { class: "block", href: `#/m/${now.match.id}/after` }, "End the match")];
  return [h("div", { class: "pad scorepad" }, h("h1", { tabindex: "-1", class: "unseen" }, "Score"), top, rest, over)];
}

/** The break that makes the screen show the plan, as a name; null outside a break. */
function breakNow() {
  if (!now.score || now.moment === "after-match") return null;
  const decides = now.deciding && mayRead();
  if (now.moment === "between-points" && !decides) return null;
  return `${now.match.id} ${now.score.sets} ${now.score.games} ${now.score.points}`;
}

function boardRows() {
  const score = now.score ?? { sets: [], games: [0, 0], points: ["0", "0"], server: now.match.first_server };
  const court = now.score ? now.court : "deuce";
  return ["own", "opponent"].map((side, place) =>
    h(
      "div",
      { class: side === score.server ? "side serves" : "side" },
      h("span", { class: "name" }, now.names[side], h("small", {}, side === score.server ? ` serves${court ? `, ${court} court` : ""}` : "")),
      score.sets.map((set) => h("span", { class: "set" }, String(set[place]))),
      h("span", { class: "games" }, String(score.games[place])),
      h("span", { class: "now" }, score.points[place]),
    ),
  );
}

/** One place between score and pad: what must be asked, else how the last point ended. {of: its subject, draw()} */
function middleOf(alone) {
  const { id, first_server: first } = now.match;
  const doubt = twice();
  if (doubt) {
    const words = `${many(doubt.own.length, "point")} on this phone and ${many(doubt.others, "point")} on another were entered at the same time. Are they the same?`;
    return { of: words, draw: () => asks(words, ["Same: count once", () => settleTwice(doubt, true)], ["All were played", () => settleTwice(doubt, false)]) };
  }
  if (!first && now.moment !== "after-match") {
    const serves = (side) => [now.names[side], () => change(id, { first_server: side }, `Serves first: ${now.names[side]}`, { first_server: null })];
    return { of: "first server", draw: () => asks("Who serves first?", serves("own"), serves("opponent")) };
  }
  const stands = last?.match === id && entriesOf(id).some((entry) => entry.group === last.group);
  if (alone) return { of: "nothing", draw: () => h("span") };
  return { of: stands ? last.group : "no point", draw: () => endings(id, stands ? last : null) };
}

const asks = (words, ...answers) => h("div", { class: "asks", role: "group", "aria-label": words }, h("p", { role: "alert" }, words), answers.map(([word, press]) => button(word, press)));

function triedWords() {
  const { tried, won } = triesOf(now.plan);
  return tried ? ` (won ${won} of ${tried})` : "";
}

const POINTS = [
  ["Point won", { winner: "own" }],
  ["Lost: they earned it", { winner: "opponent", own_error: false }],
  ["Lost: own error", { winner: "opponent", own_error: true }],
];

function pointButtons(played, over) {
  const press = (words, body) => {
    if (Date.now() - (last?.at ?? 0) < TWICE_MS) return;
    const { id } = now.match;
    const group = newKey();
    const tried = played.checked && now.plan && !body.own_error; // an easy miss says nothing about the plan
    last = { match: id, at: Date.now(), group, ...body, server: now.score ? now.score.server : now.match.first_server, court: now.score ? now.court : "deuce", place: placeOf(now.score) };
    played.checked = false;
    if (tried) enter(id, "tries", { tactic: now.plan.tactic, tried: 1, won: body.winner === "own" ? 1 : 0 }, `Plan played: ${words}`, group);
    enter(id, "points", body, tried ? `${words}, plan played` : words, group);
    announce([`${words}.`, scoreWords(now.score, now.names), over.querySelector("h2")?.textContent].filter(Boolean).join(" "));
    for (const each of made) each.setAttribute("aria-disabled", "true");
    setTimeout(() => { for (const each of made) each.removeAttribute("aria-disabled"); }, TWICE_MS);
  };
  const made = POINTS.map(([words, body]) => button(words, () => press(words, body)));
  return [h("div", { role: "group", "aria-label": "Who won the point" }, made)];
}
