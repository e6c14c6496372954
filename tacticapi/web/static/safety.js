// A match's safety state, the only one on this page: what comes before everything else, and until when. It lasts while there
// is a danger sign among the entries, a response in which only safety is shown, or a danger that the service has not
// responded to yet. All of that is stored on this device, so a reloaded page is where it was.

import { hear, tell } from "./bus.js";
import { queue, withdraw } from "./entries.js";
import * as keep from "./keep.js";
import { signs as described } from "./kinds.js";
import { recallSeen, seenEntries } from "./seen.js";

export const SIGN = "physical.warning_sign";
export const CLEARED = "physical.cleared";

// Facts that may stop the match. The service judges them; until it has responded, only safety is shown.
const DANGEROUS = {
  "context.thunder": (value) => value === true,
  "context.heat": (value) => value === "extreme",
  "own.pain_now": (value) => value > 0,
  "own.pain_site": Boolean,
  "own.pain_or_limit": Boolean,
};

/** Whether this value of a fact, named as in the vocabulary, may stop the match. */
export const isDangerous = (id, value) => Boolean(DANGEROUS[id]?.(value));

const STOP = {
  tactic: null,
  title: "Stop play",
  say: "Stop play and look after the player first.",
  why: "An entry may mean danger. The service has not answered yet.",
};
const byValue = new Map(described.map((sign) => [sign.value, sign]));

const NONE = "";

let match = null;
let ended = null;
let told = { lines: [], held: [] }; // the last response's lines; facts waiting for a response
let drawn = NONE; // what the page shows
let delivered = 0; // entries that the service has accepted since the page was opened
let asked = 0;
let newest = 0;

/** Switch to this match, with what the device knows about it. */
export function openSafety(id) {
  if (id === match) return;
  if (id === ended) return void closeSafety(id);
  match = id;
  recallSeen(id);
  told = { lines: [], held: [], ...keep.read(`safety/${id}`, {}) };
  told.held = told.held.map((fact) => ({ ...fact, sent: fact.sent === null ? null : 0 }));
  drawn = signature();
}

/** Leave the match; a match that has ended no longer has a safety state. */
export function closeSafety(over = null) {
  ended = over;
  match = null;
  told = { lines: [], held: [] };
  if (drawn !== NONE) changed();
}

/** Whether safety now comes before everything else. */
export const stands = () => match !== null && Boolean(standingSigns().length || told.lines.length || told.held.length);

/**
 * What to show: {lines, signs, lasting, held}. signs: danger signs not yet cleared, {key, id, value}; lasting: one of them
 * can never be cleared in this match; held: words for what is waiting for a response.
 */
export function safetyNow() {
  const signs = standingSigns();
  return { lines: linesOf(signs), signs, lasting: signs.some((sign) => lasts(sign.value)), held: told.held.map((fact) => fact.words) };
}

/** To be read before a request: a response covers only what was delivered by then. */
export const mark = () => ({ place: (asked += 1), delivered });

/** Take over what a response says about safety. */
export function answered(id, lines, { place, delivered: upTo }) {
  if (id !== match || place < newest) return;
  newest = place;
  told.lines = lines.some((line) => line.alone) ? lines : [];
  told.held = told.held.filter((fact) => fact.sent === null || fact.sent > upTo);
  changed();
}

/** Take back a danger sign that was entered by mistake, on this device or another. */
export function takeBackSign({ key, id, place }) {
  if (place) queue.settle(place, false); // it was refused, so there is nothing to withdraw
  else withdraw(match, { key, id, noun: "observations", words: "Danger sign" });
  changed();
}

/** Whether a waiting or refused entry is a danger sign: those are taken back only on the safety screen, with two taps. */
export const isSign = (item) => item.noun === "observations" && saysSign(item.body);

const saysSign = (body) => body?.what === SIGN && (body.seen === true || Boolean(body.value));
const lasts = (value) => (byValue.has(value) ? byValue.get(value).for_the_match : true);

/** Signs in order of entry, without those cleared later. A refused sign is still a sign. */
function standingSigns() {
  let signs = [];
  for (const { key, id, body } of seenEntries(match)) {
    if (saysSign(body)) signs.push({ key, id, value: body.value ?? null });
    if (body.what === CLEARED && body.seen) signs = signs.filter((sign) => lasts(sign.value));
  }
  const refused = queue.aside().filter((item) => item.match === match && isSign(item));
  return [...signs, ...refused.map(({ key, place, body }) => ({ key, place, value: body.value ?? null }))];
}

/** The signs' lines, in the words of the last response if it has them; a named sign says more than an unnamed one. */
function linesOf(signs) {
  const named = signs.filter((sign) => sign.value !== null);
  const own = (named.length ? named : signs).flatMap((sign) => (byValue.get(sign.value) ?? byValue.get(null))?.lines ?? []);
  const lines = new Map();
  for (const line of [...own, ...told.lines]) lines.set(`${line.tactic} ${line.say}`, line);
  return lines.size ? [...lines.values()] : [STOP];
}

/** What makes a screen be redrawn; a line's sources do not, because nothing may move under a thumb for them. */
function signature() {
  if (!stands()) return NONE;
  const { lines, ...more } = safetyNow();
  return JSON.stringify([lines.map((line) => [line.say, line.caution]), more]);
}

function changed() {
  if (match) keep.write(`safety/${match}`, told);
  const before = drawn;
  drawn = signature();
  tell(drawn === before ? "sources" : "safety");
}

/** Hold each fact that may stop the match until the service has responded. */
function hold({ key, change, words }) {
  for (const [place, facts] of Object.entries(change)) {
    for (const [name, value] of Object.entries(facts ?? {})) {
      const id = `${place}.${name}`;
      told.held = told.held.filter((fact) => fact.id !== id);
      if (isDangerous(id, value)) told.held.push({ id, key, words, sent: null });
    }
  }
}

hear("queue", ({ kind, item }) => {
  if (kind === "kept") delivered += 1;
  if (item.match !== match) return;
  if (kind === "added" && item.change) hold(item);
  if (kind === "kept") told.held = told.held.map((fact) => (fact.key === item.key ? { ...fact, sent: delivered } : fact));
  changed();
});
hear("seen", changed);
