// What the service advises, asked for when it is read, after each entry, and when another device entered something, since that
// may be a danger.

import { Refused, ask } from "./api.js";
import { hear, tell } from "./bus.js";
import * as keep from "./keep.js";
import { mayRead, momentNow, now, open, setAdvice, setPlan, waits } from "./match.js";
import { answered, mark, stands } from "./safety.js";
import { openSeen } from "./seen.js";

const ENTRIES = ["observations", "points", "tries", "facts"];
const SOON_MS = 400; // after an entry, so that a burst of taps asks once

let entered = 0; // entries made here, so that an answer that was asked for before one of them is known as old
let heard = {}; // of the match: its revision by the last answer; what changed in answers that were not shown
let checking = 0;
let missed = false;
let turning = false; // the demo goes on to its next state, which is not read yet
const asking = new Map(); // the questions under way, each with its moment

/** The advice of this moment. Until it comes, the last that was given stands if the event lets it be read, marked as old. */
export function adviceNow() {
  if (now.advice?.moment === momentNow()) return now.advice;
  return now.last && mayRead() && now.moment !== "after-match" ? { ...now.last, old: true } : null;
}

/** Advice that rests on less than what is entered by now stays readable, marked as old, until the next comes. */
function outdate() {
  entered += 1;
  if (now.advice) setAdvice({ ...now.advice, old: true });
}

/** Whether entries wait that decide if the match is at this moment. */
const momentWaits = (moment) => waits(moment === "before-match" ? ["points", "end", "observations"] : ["points", "end"]);

/** Ask the service; what it says of safety counts on every screen before anything else of it is read. */
async function asked(moment, more = "") {
  const { id } = now.match;
  if (turning || momentWaits(moment)) return null; // it is asked again once they are kept
  const [at, before, planned] = [mark(), entered, !waits(["tries"])];
  if (heard.match !== id) heard = { match: id, revision: null, unread: [] };
  const body = await whileItLasts(moment, (signal) => ask("GET", `/v1/matches/${id}/suggestions?moment=${moment}${more}`, { signal }));
  if (!body || now.match?.id !== id || body.revision < heard.revision) return null; // a later question was answered first
  answered(id, body.safety, at);
  if (body.revision !== heard.revision && stands()) openSeen(id).catch(() => {}); // signs of other devices, and their ends
  heard.revision = body.revision;
  for (const change of body.changed) heard.unread = [...heard.unread.filter((each) => !isSame(each, change)), change];
  const old = entered !== before;
  if (planned && !old && !stands()) takePlan(body); // on every screen: the score needs the plan, even if it reads no advice
  return { ...body, old };
}

/** The body of an answer; null if the moment passed meanwhile, since the service refuses a moment that is over. */
async function whileItLasts(moment, question) {
  const waiting = new AbortController();
  asking.set(waiting, moment);
  try {
    return (await question(waiting.signal)).body;
  } catch (error) {
    if (waiting.signal.aborted) return null;
    throw error;
  } finally {
    asking.delete(waiting);
  }
}

const isSame = (one, other) => ["what", "trait", "wing"].every((name) => one[name] === other[name]);

/** Make this the advice that is shown. */
function take(advice) {
  if (stands()) return;
  const { id } = now.match;
  const again = keep.read(`advised/${id}`, false);
  keep.write(`advised/${id}`, true);
  const same = now.advice?.advice_id === advice.advice_id && now.advice.old === advice.old;
  now.looks = advice.look_for;
  if (!same) setAdvice({ ...advice, at: Date.now(), changed: again ? heard.unread : [] });
  heard.unread = [];
}

/** Take over the plan that another phone chose. */
function takePlan({ plan, suggestions }) {
  const line = suggestions.find((each) => each.tactic === plan?.tactic);
  const since = plan?.since ?? null;
  if (line && (line.tactic !== now.plan?.tactic || now.plan.since?.game !== since?.game)) setPlan({ tactic: line.tactic, title: line.title, say: line.say, since });
}

/** Advice for the moment that the match is at. Throws Unreachable, Refused. */
export async function fetchAdvice() {
  const advice = await asked(momentNow());
  if (advice) take(advice);
}

/** What to look for next, with so many minutes of the warm-up left (null: the warm-up is over). */
export async function fetchLooks(minutes) {
  const left = now.moment === "after-warm-up" && minutes !== null ? `&minutes_left=${minutes}` : "";
  const body = await asked(now.moment, left);
  if (!body) return;
  now.looks = body.look_for;
  tell("looks", { notice: body.notice, safety: body.safety });
}

/** See whether safety comes first by now, whoever entered it, and renew the advice that is shown. */
export async function check() {
  if (!now.match || now.match.status === "ended") return;
  missed = false;
  try {
    const advice = await asked(momentNow());
    missed = !advice;
    if (advice && isRead()) take(advice);
  } catch (error) {
    missed = true;
    if (error instanceof Refused && now.match) await open(now.match.id).then(() => tell("match"), () => {}); // others went on
  }
}

/** Ask again if the last answer was lost. */
export const checkMissed = () => (missed ? check() : null);

/** Whether advice is on the screen. Beside what is entered it comes by itself at breaks only: a coach who watches reads none. */
function isRead() {
  if (!document.querySelector(".advice, .break")) return false;
  return Boolean(adviceNow()) || momentNow() !== "between-points" || !document.querySelector(".beside");
}

function checkSoon() {
  clearTimeout(checking);
  checking = setTimeout(check, SOON_MS);
}

hear("step", (begins) => {
  turning = begins;
  for (const waiting of asking.keys()) waiting.abort();
});
// Advice from before the danger is not shown after it.
hear("safety", () => {
  if (!stands() || !now.match) return;
  now.looks = null;
  setAdvice(null);
});
hear("queue", ({ kind, item }) => {
  for (const [waiting, moment] of asking) if (momentWaits(moment)) waiting.abort();
  if (kind === "added" && item.match === now.match?.id && ENTRIES.includes(item.noun)) outdate();
});
hear("kept", (item) => { if (ENTRIES.includes(item.noun)) checkSoon(); });
hear("others", checkSoon);
