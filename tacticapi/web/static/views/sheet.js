// The watch sheet: both sides of A6, for tallying in pencil. The front is the warm-up in the pad's order; the back is what
// is worth most in the first games.

import { h } from "../dom.js";
import { kinds, pairOf, signs, wordOf } from "../kinds.js";
import { STAGES } from "./pad.js";

const BEHIND = 8; // questions on the side for the games
const TALLIED = ["count", "counts", "value"];
const BOXES = { half: 5, whole: 15 };

export function sheet(own = "", opponent = "") {
  return [side("Watch sheet, warm-up", names(own, opponent), ...front()), side("Watch sheet, first games", ...behind())];
}

const side = (title, ...parts) => h("section", { class: "a6 sheet", "aria-label": title }, h("p", { class: "title", role: "heading", "aria-level": "2" }, title), parts);
const blank = (words) => words || h("span", { class: "blank" }, "\u00a0");
const names = (own, opponent) => h("p", {}, blank(own), " against ", blank(opponent), " on ", blank(""));

const boxes = (many) => h("span", { class: "boxes", "aria-hidden": "true" }, Array.from({ length: many }, () => h("i")));
const tally = (words, many) => h("p", { class: "tally-row" }, h("span", {}, words), boxes(many));
const choose = (title, words) => h("p", {}, h("strong", {}, `${title}: `), words.map((word) => h("span", { class: "word" }, word)));
const isWord = ({ taps }) => !taps[0].said;

/** The pad's stages: words to circle, strokes in two columns of tallies. */
function front() {
  return Object.values(STAGES).flatMap((groups) => [
    h("div", { class: "two" }, groups.filter((group) => !isWord(group)).map(({ title, taps }) => h("div", {}, h("h2", {}, title), taps.map((tap) => tally(tap.words, BOXES.half))))),
    ...groups.filter(isWord).map(({ title, taps }) => choose(title, taps.map((tap) => tap.words))),
  ]);
}

function behind() {
  const asked = kinds.filter((kind) => kind.games && !kind.warm_up && kind.starter && TALLIED.includes(kind.ways[0])).sort((a, b) => a.starter - b.starter);
  const stop = signs.map((sign) => sign.value).filter(Boolean).map(wordOf).join(", ");
  return [
    asked.slice(0, BEHIND).flatMap((kind) => {
      if (kind.ways[0] === "value") return [choose(kind.title, kind.options)];
      const options = kind.ways[0] === "counts" ? kind.options : pairOf(kind);
      return [h("h2", {}, kind.title), options.map((words) => tally(words, BOXES.whole))];
    }),
    h("p", { class: "foot" }, h("strong", {}, "Stop play and get help: "), `${stop}; thunder, extreme heat. Enter the sheet later under Watch. Check the event's rules on notes.`),
  ];
}
