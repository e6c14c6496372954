// Point by point: who won it, whether the plan was played, and what the score makes of the moment.

import { hear } from "../bus.js";
import { announce, button, h, part } from "../dom.js";
import { change, enter, newKey } from "../entries.js";
import { mayRead, momentNow, now, triesOf, waitingPoints } from "../match.js";
import { MOMENTS, many, scoreWords } from "../words.js";
import { planWords } from "./advice.js";
import { scoreForm } from "./score-form.js";
import { undoPart } from "./undo.js";

/** The score; with `alone` nothing but the score, since safety comes before any plan. */
export async function scoreScreen(signal, alone = false) {
  const score = h("p", { class: "score", role: "status" });
  const waiting = h("p", { class: "tally" });
  const serving = h("div");
  const plan = h("p");
  const tries = h("p", { class: "tally" });
  const played = h("input", { type: "checkbox", id: "played" });
  const playedRow = h("label", { class: "check" }, played, h("span", {}, "The next point is played by the plan"));
  const moment = h("p", { class: "moment" });
  const buttons = pointButtons(played);
  const over = h("p", {});

  const show = () => {
    const done = now.moment === "after-match";
    score.textContent = scoreWords(now.score, now.names);
    const points = waitingPoints();
    waiting.textContent = points.length ? `Not in the score yet, ${many(points.length, "entry", "entries")}: ${points.map((item) => item.words).join("; ")}.` : "";
    moment.textContent = `Moment: ${MOMENTS[momentNow()]}`;
    plan.textContent = alone ? "" : planWords();
    const told = now.plan ? triesOf(now.plan.tactic) : null;
    tries.textContent = told?.tried ? `Tried ${told.tried}, won ${told.won}.` : told ? "Not tried yet." : "";
    playedRow.hidden = alone || !now.plan || done;
    buttons.hidden = done;
    over.replaceChildren(...(done ? [h("a", { class: "block", href: `#/m/${now.match.id}/after` }, "The match is decided: go on to the debrief")] : []));
    serving.replaceChildren(...(now.match.first_server || done ? [] : [firstServer()]));
  };
  hear("score match queue", show, signal);
  hear("score", ({ before }) => {
    if (!alone && before && before !== now.moment && now.moment !== "between-points" && mayRead()) announce(`${MOMENTS[now.moment]}: the advice is ready.`);
  }, signal);
  show();
  const advice = h("p", {}, h("a", { class: "block", href: `#/m/${now.match.id}/advice` }, "Advice for this moment"));
  return [
    alone ? h("h2", {}, "Score only") : h("h1", { tabindex: "-1" }, "Score"),
    h("section", { "aria-label": "The score now" }, score, waiting, moment, serving),
    h("section", { "aria-label": "The next point" }, playedRow, buttons, over),
    alone ? h("a", { class: "block", href: `#/m/${now.match.id}/after` }, "End the match") : part("The plan", {}, plan, tries, advice),
    scoreForm(),
    undoPart(["points"], signal),
  ];
}

const POINTS = [
  ["Point won", { winner: "own" }],
  ["Lost: they earned it", { winner: "opponent", own_error: false }],
  ["Lost: own error", { winner: "opponent", own_error: true }],
];

function pointButtons(played) {
  const press = (words, body) => {
    const { id } = now.match;
    const group = newKey();
    const tried = played.checked && now.plan && !body.own_error; // an easy miss says nothing about the plan
    if (tried) {
      const won = body.winner === "own" ? 1 : 0;
      enter(id, "tries", { tactic: now.plan.tactic, tried: 1, won }, `Plan played: ${words}`, group);
    }
    enter(id, "points", body, tried ? `${words}, plan played` : words, group);
    played.checked = false;
    announce(words);
  };
  return h("div", { class: "points", role: "group", "aria-label": "Who won the point" }, POINTS.map(([words, body]) => button(words, () => press(words, body))));
}

function firstServer() {
  const say = (side, words) => {
    change(now.match.id, { first_server: side }, `Serves first: ${words}`);
    document.querySelector(".points button").focus(); // the pressed button is gone
  };
  return h(
    "div",
    { class: "row", role: "group", "aria-label": "Who serves first" },
    h("span", {}, "Serves first:"),
    button(now.names.own, () => say("own", now.names.own)),
    button(now.names.opponent, () => say("opponent", now.names.opponent)),
  );
}
