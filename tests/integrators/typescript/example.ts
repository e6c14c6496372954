// Start a match, post a warm-up, read advice: every path, name and word is checked against the contract when compiled.
// The address of a service without tokens is the argument.

import { randomUUID } from "node:crypto";

import createClient from "openapi-fetch";
import type { components, paths } from "./build/contract.js";

type Observation = components["schemas"]["NewObservation"];

const address = process.argv[2];
if (address === undefined) throw new Error("name the address of the service");
const client = createClient<paths>({ baseUrl: address });

async function player(side: "own" | "opponent", label: string): Promise<string> {
  const { data, error } = await client.POST("/v1/players", { body: { side, label } });
  if (error) throw new Error(error.title);
  return data.id;
}

const { data: match, error: refused } = await client.POST("/v1/matches", {
  body: {
    own_id: await player("own", "Larch"),
    opponent_id: await player("opponent", "Sleet"),
    context: { surface: "clay", coaching: "permitted", device: "coach" },
    own: { topspin_height: 3, second_serve_kick: 3 },
    first_server: "own",
  },
});
if (refused) throw new Error(refused.title);

const warmUp: Observation[] = [
  { what: "warmup.middle_ball_on_forehand", count: 7, of: 8 },
  { what: "warmup.high_backhand", rating: 1 },
];
// @ts-expect-error a word that the vocabulary does not hold must not compile
warmUp.push({ what: "warmup.no_such_thing", seen: true } satisfies Observation);
warmUp.pop();
for (const body of warmUp) {
  const { data, error } = await client.POST("/v1/matches/{match_id}/observations", {
    params: { path: { match_id: match.id }, header: { "Idempotency-Key": randomUUID() } },
    body,
  });
  if (error) throw new Error(error.title);
  if (!("sequence" in data)) throw new Error("one observation gets one receipt");
}

const { data: wrong } = await client.POST("/v1/matches/{match_id}/observations", {
  params: { path: { match_id: match.id } },
  body: { what: "warmup.high_backhand", rating: 9 },
});
if (wrong !== undefined) throw new Error("a rating of 9 was taken");

const { data: advice, error } = await client.GET("/v1/matches/{match_id}/suggestions", {
  params: { path: { match_id: match.id }, query: { moment: "after-warm-up" } },
});
if (error) throw new Error(error.title);
for (const line of [...advice.safety, ...advice.suggestions]) console.log(line.say);
const first = advice.suggestions[0];
if (first === undefined) throw new Error("nothing was suggested");
console.log(`because ${first.because.map((reason) => reason.text).join("; ")}`);

const path = { match_id: match.id };
for (const winner of ["own", "opponent", "own", "own", "own"] as const) {
  const { data, error } = await client.POST("/v1/matches/{match_id}/points", { params: { path }, body: { winner } });
  if (error) throw new Error(error.title);
  console.log(`points ${data.score?.points?.join("-") ?? ""}`);
}
const tried = { tactic: first.tactic, tried: 3, won: 2 };
const { error: untried } = await client.POST("/v1/matches/{match_id}/tries", { params: { path }, body: tried });
if (untried) throw new Error(untried.title);
const { error: untold } = await client.POST("/v1/advice/{advice_id}/feedback", {
  params: { path: { advice_id: advice.advice_id } },
  body: { tactic: first.tactic, kind: "used" },
});
if (untold) throw new Error(untold.title);
const { error: going } = await client.POST("/v1/matches/{match_id}/end", {
  params: { path, header: { "If-Match": "*" } },
});
if (going) throw new Error(going.title);
const { data: debrief, error: none } = await client.GET("/v1/matches/{match_id}/debrief", { params: { path } });
if (none || typeof debrief === "string") throw new Error("no debrief");
console.log(`tried ${debrief.tactics.map((line) => `${line.title} ${line.tries.won} of ${line.tries.of}`).join("; ")}`);
