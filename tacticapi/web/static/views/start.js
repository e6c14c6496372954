// The first screen: continue a match, or start one.

import { Refused, ask, token } from "../api.js";
import { button, choice, field, h, part } from "../dom.js";
import { newKey } from "../entries.js";
import { keyOf, kindOf, kinds, ratingsOf } from "../kinds.js";
import { listed } from "./past.js";

const SHOWN = 8;
const UNSAID = ["", "not known"];
const HANDS = [UNSAID, ["right", "right"], ["left", "left"], ["both", "both: a forehand on either side"]];

const FORMATS = [
  ["best-of-3", "best of three sets", {}],
  ["match-tie-break", "two sets, then a match tie-break to 10", { final_set: "match-tie-break-10" }],
  ["best-of-5", "best of five sets", { sets: 5 }],
  ["one-set", "one set", { sets: 1 }],
  ["short-sets", "best of three short sets to 4", { games: 4 }],
];

// [id, label, pairs] for items in the context
const CHECKS = [
  ["coaching", "Coaching", [
    ["unknown", "not known"], ["permitted", "permitted"],
    ["change-of-ends-and-set-break", "at changes of ends and set breaks"],
    ["set-break", "at set breaks only"], ["not-permitted", "not permitted"],
  ]],
  ["device", "Who may look at a device", [
    ["unknown", "not known"], ["coach", "the coach"], ["player", "the player"], ["nobody", "nobody"],
  ]],
  ["age-band", "Age band (of the younger player)", [
    ["", "not known"], ["U12", "U12"], ["U14", "U14"], ["U18", "U18"], ["open", "adult"], ["50+", "50+"], ["70+", "70+"],
  ]],
];

export async function startScreen(signal) {
  const message = h("p", { role: "alert", class: "problem" });
  const going = h("div");
  const known = { own: h("datalist", { id: "own-known" }), opponent: h("datalist", { id: "opponent-known" }) };
  const form = newMatchForm(message, known);
  listKnown(going, known).catch((error) => {
    if (!signal.aborted && (error.status !== 401 || token.get())) message.textContent = told(error); // the token is asked for above
  });
  return [h("h1", { tabindex: "-1" }, "Matches"), message, going, form];
}

const told = (error) =>
  error instanceof Refused ? error.message : "The service cannot be reached. You need to be online to start a match; later entries wait until you are.";

async function listKnown(going, known) {
  const { players, matches } = await listed("open");
  for (const player of players) known[player.side].append(h("option", { value: player.label }));
  if (!matches.length) return;
  const link = (match) => h("li", {}, h("a", { class: "block", href: `#/m/${match.id}/watch` }, match.names));
  going.append(part("Continue a match", {}, h("ul", { class: "plain" }, matches.slice(0, SHOWN).map(link))));
}

function player(side, words, known) {
  return h(
    "fieldset",
    {},
    h("legend", {}, words),
    field("Nickname or code", h("input", { id: `${side}-label`, list: known.id, required: true, maxlength: 100, autocomplete: "off", "aria-describedby": "labels-hint" })),
    known,
    field("Playing hand", choice(`${side}-hand`, HANDS)),
  );
}

function abilities() {
  const rated = kinds.filter((kind) => kind.subject === "own" && kind.ways[0] === "rating" && !kind.health);
  const select = (kind) => field(kind.coach.asks, choice(`own-${keyOf(kind).replaceAll("_", "-")}`, [UNSAID, ...ratingsOf(kind).map((word, n) => [String(n), `${n}, ${word}`])], "", { "data-own": keyOf(kind) }));
  return h(
    "details",
    {},
    h("summary", {}, "What your player can do"),
    h("p", {}, "Advice uses only what your player can do. Tactics that need a stroke you have not rated are held back. The ratings are kept with the player."),
    rated.map(select),
  );
}

function newMatchForm(message, known) {
  const surfaces = kindOf("context.surface").options.map((word) => [word, word]);
  const submit = h("button", { class: "main" }, "Start with the warm-up");
  const form = h(
    "form",
    {},
    h("p", { id: "labels-hint" }, "Nicknames or codes only: no full names, no birth dates. Choose one you have used, or enter a new one."),
    player("own", "Your player", known.own),
    player("opponent", "The opponent", known.opponent),
    h(
      "fieldset",
      {},
      h("legend", {}, "The match"),
      field("Surface", choice("surface", [UNSAID, ...surfaces])),
      field("Format", choice("format", FORMATS.map(([value, words]) => [value, words]))),
      check("no-ad", "No-ad: one point decides at deuce"),
      field("Serves first", choice("first-server", [["", "not known yet"], ["own", "your player"], ["opponent", "the opponent"]])),
    ),
    h(
      "fieldset",
      {},
      h("legend", {}, "What the event permits"),
      h("p", {}, "Check the event's rules on coaching and devices. Where advice is not permitted, only safety is shown."),
      CHECKS.map(([id, words, pairs]) => field(words, choice(id, pairs))),
    ),
    abilities(),
    submit,
  );
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    submit.disabled = true;
    message.textContent = "";
    begin(form).then(
      (id) => { location.hash = `#/m/${id}/watch`; },
      (error) => {
        submit.disabled = false;
        message.textContent = told(error);
        message.scrollIntoView();
      },
    );
  });
  return part("Begin a match", {}, form);
}

const check = (id, words) => h("label", { class: "check" }, h("input", { type: "checkbox", id }), h("span", {}, words));

/** {own, opponent, match} from the form: players as {label, facts}, the match as the API takes it. */
function readMatch(form) {
  const value = (id) => form.querySelector(`#${id}`).value.trim();
  const on = (id) => form.querySelector(`#${id}`).checked;
  const abilities = [...form.querySelectorAll("[data-own]")].filter((select) => select.value);
  const format = FORMATS.find(([id]) => id === value("format"))[2];
  const context = said({
    surface: value("surface"), coaching: value("coaching"), device: value("device"), age_band: value("age-band"),
  });
  const rated = abilities.map((select) => [select.dataset.own, Number(select.value)]);
  return {
    own: { label: value("own-label"), facts: said({ handedness: value("own-hand"), ...Object.fromEntries(rated) }) },
    opponent: { label: value("opponent-label"), facts: said({ handedness: value("opponent-hand") }) },
    match: {
      context: { ...context, format: { ...format, no_ad: on("no-ad") } },
      ...said({ first_server: value("first-server") }),
    },
  };
}

/** Only the facts that were given. */
const said = (facts) => Object.fromEntries(Object.entries(facts).filter(([, value]) => value !== ""));

// A second press after a lost response must not create a second player or match.
let keys = {};

async function begin(form) {
  const { own, opponent, match } = readMatch(form);
  const body = { own_id: await playerId("own", own), opponent_id: await playerId("opponent", opponent), ...match };
  const asked = JSON.stringify(body);
  keys = keys.asked === asked ? keys : { asked, key: newKey() };
  const made = await ask("POST", "/v1/matches", { body, key: keys.key });
  return made.body.id;
}

/** The player with this label, created if there is none; the facts given are stored with the player. */
async function playerId(side, { label, facts }) {
  const found = (await ask("GET", `/v1/players?side=${side}&label=${encodeURIComponent(label)}`)).body.items[0];
  if (!found) return (await ask("POST", "/v1/players", { body: { side, label, facts } })).body.id;
  const path = `/v1/players/${found.id}`;
  if (Object.entries(facts).some(([name, value]) => found.facts[name] !== value)) {
    await ask("PATCH", path, { body: { facts: { ...found.facts, ...facts } }, match: `"${found.version}"` });
  }
  return found.id;
}
