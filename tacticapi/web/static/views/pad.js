// The warm-up pad: every ball is one tap, misses included, in the order of a warm-up. Nothing on it moves or scrolls.

import { hear, tell } from "../bus.js";
import { Clock } from "../clock.js";
import { announce, button, choice, h } from "../dom.js";
import { change, enter, newKey } from "../entries.js";
import { kindOf } from "../kinds.js";
import { factOf, now } from "../match.js";
import { seenEntries } from "../seen.js";
import { clockWords, many } from "../words.js";
import { askingPart } from "./asking.js";
import { undoPart } from "./undo.js";

// A tap: its word, then what it enters. Its taps are counted by the first of these.
const tap = (words, ...said) => ({ words, said });
const made = (what, count, more = {}) => ({ what, count, of: 1, ...more });
const fact = (words, what, value = words) => ({ words, what, value });

const ground = (wing) => {
  const kept = made(`warmup.${wing}_made`, 1);
  return {
    title: wing === "forehand" ? "Forehand" : "Backhand",
    taps: [
      tap("Deep", made("warmup.depth", 1, { wing }), kept),
      tap("Short", made("warmup.depth", 0, { wing }), kept),
      tap("Out", made(`warmup.${wing}_made`, 0)),
      tap("High, handled", made(`warmup.high_${wing}`, 1)),
      tap("High, missed", made(`warmup.high_${wing}`, 0)),
      tap("Low, handled", made(`warmup.low_${wing}`, 1)),
      tap("Low, missed", made(`warmup.low_${wing}`, 0)),
    ],
  };
};
const volley = (wing) => ({
  title: wing === "forehand" ? "Forehand volley" : "Backhand volley",
  taps: [tap("In", made(`warmup.volley_${wing}`, 1)), tap("Missed", made(`warmup.volley_${wing}`, 0))],
});
const smash = (words, side) => tap(words, { what: "warmup.smash_side", counts: { [side]: 1 } }, made("warmup.smash_quality", 1));
const serve = (court) => ({
  title: court === "deuce" ? "Deuce court" : "Ad court",
  taps: [
    ...["wide", "body", "T"].map((spot) =>
      tap(spot[0].toUpperCase() + spot.slice(1), { what: "warmup.serve_spots", court, counts: { [spot]: 1 } }, made("warmup.serves_in", 1, { court })),
    ),
    tap("Fault", made("warmup.serves_in", 0, { court })),
  ],
});
const words = (title, what, options) => ({ title, taps: options.map((each) => fact(each, what)) });

export const STAGES = {
  Hand: [
    words("Plays with the", "opponent.handedness", ["right", "left", "both"]),
    words("Backhand", "opponent.backhand_type", ["two-handed", "one-handed", "slice"]),
    words("Forehand grip", "opponent.forehand_grip", ["flat", "middle", "extreme"]),
  ],
  Ground: [ground("forehand"), ground("backhand")],
  Net: [
    volley("forehand"),
    volley("backhand"),
    { title: "Smash", taps: [smash("Across, in", "across"), smash("Elsewhere, in", "other"), tap("Missed", made("warmup.smash_quality", 0))] },
    words("Volleys asked for", "warmup.net_time", ["none", "few", "normal", "many"]),
  ],
  Serve: [serve("deuce"), serve("ad"), words("Second serve", "warmup.second_serve_shown", ["slow", "kick", "slice"])],
};

let stage = null; // of the match last shown on the pad: visiting another screen keeps the place
let of = null;

export async function padScreen(signal) {
  if (of !== now.match.id) [of, stage] = [now.match.id, known("opponent.handedness") && known("opponent.backhand_type") ? "Ground" : "Hand"];
  const pad = h("div", { class: "taps" });
  const tabs = Object.keys(STAGES).map((name) => button(name, () => choose(name)));
  const show = () => {
    for (const tab of tabs) tab.setAttribute("aria-pressed", String(tab.textContent === stage));
    for (const each of pad.querySelectorAll("button")) each.refresh();
  };
  const choose = (name) => {
    stage = name;
      pad.replaceChildren(...STAGES[name].map(groupOf));
    show();
  };
  choose(stage);
  hear("seen match", show, signal);
  hear("stage", choose, signal);
  const clock = countdown(signal);
  const more = h("a", { class: "block", href: `#/m/${now.match.id}/more` }, "More", h("span", { class: "unseen" }, " questions"));
  return [
    h(
      "div",
      { class: "pad" },
      h("div", { class: "head" }, h("h1", { tabindex: "-1" }, "Warm-up"), clock.element),
      askingPart(signal, { clock, skip: PADDED }),
      h("div", { class: "stages", role: "group", "aria-label": "Part of the warm-up" }, tabs, more),
      pad,
      undoPart(["observations", "facts"], signal),
    ),
  ];
}

const PADDED = new Set(Object.values(STAGES).flat().flatMap(({ taps }) => taps.map((each) => each.what ?? each.said[0].what)));

function groupOf({ title, taps }) {
  const look = taps.length > 4 ? "group tall" : taps.length > 2 ? "group wide" : "group";
  return h("div", { class: look, role: "group", "aria-label": title }, h("p", { "aria-hidden": "true" }, title), taps.map((each) => (each.said ? ballTap(title, each) : wordTap(title, each))));
}

/** One ball; the number in it counts its taps. */
function ballTap(title, { words: label, said }) {
  const number = h("span", { class: "count" });
  const press = () => {
    const group = newKey();
    for (const body of said) enter(now.match.id, "observations", body, `${title}: ${label}`, group);
    announce(`Entered. ${title}: ${label}`);
  };
  const made = button([label, number], press);
  made.refresh = () => {
    const n = seenEntries(now.match.id).filter((entry) => isSame(entry.body, said[0])).length;
    number.textContent = n ? ` ${n}` : "";
  };
  return made;
}

const isSame = (body, said) => Object.entries(said).every(([name, value]) => JSON.stringify(body[name]) === JSON.stringify(value));

/** One word about the opponent; the current word is marked. */
function wordTap(title, { words: label, what, value }) {
  const kind = kindOf(what);
  const press = () => {
    const told = `${title}: ${label}`;
    if (kind.post_in === "observations") enter(now.match.id, "observations", { what, value }, told);
    else change(now.match.id, { opponent: { [what.split(".")[1]]: value } }, told, { opponent: { [what.split(".")[1]]: now.match.opponent[what.split(".")[1]] ?? null } });
    announce(`Entered. ${told}`);
  };
  const made = button(label, press);
  made.refresh = () => made.setAttribute("aria-pressed", String(factOf(kind) === value));
  return made;
}

const known = (what) => factOf(kindOf(what)) !== null;

const LENGTHS = [1, 2, 3, 4, 5, 6, 8, 10, 15, 20, 30];

/** {element, minutes()}; "minute" is sent as each whole minute begins. */
function countdown(signal) {
  const clock = new Clock(now.match.id);
  const words = h("span", { class: "clock", role: "timer" });
  let told = clock.left;

  const draw = () => {
    words.textContent = clock.seconds ? `${clockWords(clock.seconds)} left` : "Time is up";
    length.hidden = clock.running;
    words.hidden = !clock.running;
    press.textContent = clock.running ? "Stop" : "Start";
    press.setAttribute("aria-label", `${press.textContent} the clock`);
  };
  const length = choice("minutes", LENGTHS.map((n) => [String(n), `${n} min`]), String(clock.minutes), {
    "aria-label": "Length of the warm-up", onchange: (event) => clock.set(Number(event.target.value)),
  });
  const press = button("", () => {
    if (clock.running) clock.stop();
    else clock.start();
    told = clock.left;
    draw();
    if (clock.running) tell("minute");
  }, { class: "quiet" });

  const tick = () => {
    if (!clock.running) return;
    draw();
    if (clock.left === told) return;
    told = clock.left;
    announce(told ? `${many(told, "minute")} left of the warm-up` : "The last minute of the warm-up");
    tell("minute");
  };
  const timer = setInterval(tick, 1000);
  signal.addEventListener("abort", () => clearInterval(timer));
  draw();
  return { element: h("div", { class: "countdown" }, length, words, press), minutes: () => clock.left };
}
