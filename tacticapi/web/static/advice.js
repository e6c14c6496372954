// What the service advises: requested when it is read, after each entry, and when another device enters something, because
// that may be a danger sign.

import { Refused, ask } from "./api.js";
import { hear, tell } from "./bus.js";
import * as keep from "./keep.js";
import { mayRead, momentNow, now, open, setAdvice, setPlan, waits } from "./match.js";
import { answered, mark, stands } from "./safety.js";
import { openSeen } from "./seen.js";

const ENTRIES = ["observations", "points", "tries", "facts"];
const SOON_MS = 400; // after an entry, so that a burst of taps makes one request

let entered = 0; // counts entries made here, so that a response requested before the latest one is recognised as old
let heard = {}; // the match's revision in the last response; what changed in responses that were not shown
let checking = 0;
let missed = false;
let turning = false; // the demo is moving to its next state, which has not been read yet
const asking = new Map(); // the requests under way, each with its moment

/** The advice for this moment. Until it arrives, the last advice stays, marked as old, if the event lets it be read. */
export function adviceNow() {
  if (now.advice?.moment === momentNow()) return now.advice;
  return now.last && mayRead() && now.moment !== "after-match" ? { ...now.last, old: true } : null;
}

/** Advice given before the latest entries stays readable, marked as old, until new advice arrives. */
function outdate() {
  entered += 1;
  if (now.advice) setAdvice({ ...now.advice, old: true });
}

/** Whether entries are waiting that decide whether the match is at this moment. */
const momentWaits = (moment) => waits(moment === "before-match" ? ["points", "end", "observations"] : ["points", "end"]);

/** Ask the service; what it says about safety takes effect on every screen before the rest is read. */
async function asked(moment, more = "") {
  const { id } = now.match;
  if (turning || momentWaits(moment)) return null; // it is requested again once they are kept
  const [at, before, planned] = [mark(), entered, !waits(["tries"])];
  if (heard.match !== id) heard = { match: id, revision: null, unread: [] };
  const body = await whileItLasts(moment, (signal) => ask("GET", `/v1/matches/${id}/suggestions?moment=${moment}${more}`, { signal }));
  if (!body || now.match?.id !== id || body.revision < heard.revision) return null; // the response to a later request came first
  answered(id, body.safety, at);
  if (body.revision !== heard.revision && stands()) openSeen(id).catch(() => {}); // signs entered or lifted on other devices
  heard.revision = body.revision;
  for (const change of body.changed) heard.unread = [...heard.unread.filter((each) => !isSame(each, change)), change];
  const old = entered !== before;
  if (planned && !old && !stands()) takePlan(body).catch(() => {}); // on every screen: the score needs the plan, even if no advice is read there
  return { ...body, old };
}

/** The body of a response; null if the moment has passed, because the service refuses a moment that is over. */
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

/** Take over the plan chosen on another phone; if it is no longer suggested, only its title is shown. */
async function takePlan({ plan, suggestions }) {
  if (!plan?.tactic) return;
  const [{ id }, before, since] = [now.match, entered, plan.since ?? null];
  const line = suggestions.find((each) => each.tactic === plan.tactic);
  const known = now.plan?.tactic === plan.tactic ? now.plan : null;
  if (known && known.since?.game === since?.game) return;
  const { title, say = title } = line ?? known ?? { title: (await ask("GET", `/v1/tactics/${plan.tactic}`)).body.title };
  if (now.match?.id === id && entered === before) setPlan({ tactic: plan.tactic, title, say, since });
}

/** Advice for the match's current moment. Throws Unreachable, Refused. */
export async function fetchAdvice() {
  const advice = await asked(momentNow());
  if (advice) take(advice);
}

/** What to look for next, given the minutes of warm-up left (null: the warm-up is over). */
export async function fetchLooks(minutes) {
  const left = now.moment === "after-warm-up" && minutes !== null ? `&minutes_left=${minutes}` : "";
  const body = await asked(now.moment, left);
  if (!body) return;
  now.looks = body.look_for;
  tell("looks", { notice: body.notice, safety: body.safety });
}

/** Check whether safety now comes first, whoever entered the sign, and refresh the advice shown. */
export async function check() {
  if (!now.match || now.match.status === "ended") return;
  missed = false;
  try {
    const advice = await asked(momentNow());
    missed = !advice;
    if (advice && isRead()) take(advice);
  } catch (error) {
    missed = true;
    if (error instanceof Refused && now.match) await open(now.match.id).then(() => tell("match"), () => {}); // other devices have moved on
  }
}

/** Ask again if the last response was lost. */
export const checkMissed = () => (missed ? check() : null);

/** Whether advice is on the screen. Beside the pad it appears only at breaks: a coach who is watching does not read. */
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
