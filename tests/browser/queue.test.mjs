// The queue by itself: order, what is told of each answer, and what is never doubled or lost. Run: node --test tests/browser

import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { test } from "node:test";

const source = await readFile(new URL("../../tacticapi/web/static/queue.js", import.meta.url), "utf8");
const { Queue, queueWords } = await import(`data:text/javascript,${encodeURIComponent(source)}`);

function shelf() {
  const kept = new Map();
  return {
    kept,
    read: (name) => (kept.has(name) ? JSON.parse(kept.get(name)) : null),
    write: (name, value) => kept.set(name, JSON.stringify(value)),
    drop: (name) => kept.delete(name),
    names: (start) => [...kept.keys()].filter((name) => name.startsWith(start)).sort(),
  };
}

/** A queue whose answers are given by `answer(item)`; `sent` are the keys in the order of sending. */
function queueWith(answer, keep = shelf()) {
  const made = { sent: [], told: [], waits: [], keep };
  const send = async (item) => {
    made.sent.push(item.key);
    return answer(item);
  };
  const wait = (ms, then) => { made.waits.push([ms, then]); return 0; };
  made.queue = new Queue(keep, send, (kind, item) => made.told.push(`${kind} ${item.key}`), wait);
  return made;
}

const settled = async (queue) => { while (queue.sending) await queue.sending; };

test("entries go in the order in which they were made, one at a time", async () => {
  let under = 0;
  const { queue, sent } = queueWith(async () => {
    under += 1;
    assert.equal(under, 1);
    await new Promise((done) => setTimeout(done, 1));
    under -= 1;
    return { kept: {} };
  });
  for (let n = 0; n < 30; n += 1) queue.add({ key: `k${n}` });
  await settled(queue);
  assert.deepEqual(sent, Array.from({ length: 30 }, (_, n) => `k${n}`));
  assert.equal(queue.waiting().length, 0);
});

test("without connection all stay, and are sent once it is back", async () => {
  let away = true;
  const { queue, sent, waits } = queueWith(() => (away ? { later: "connection" } : { kept: {} }));
  queue.add({ key: "a" });
  queue.add({ key: "b" });
  await settled(queue);
  assert.equal(queue.held, "connection");
  assert.deepEqual(queue.waiting().map((item) => item.key), ["a", "b"]);
  away = false;
  waits.at(-1)[1]();
  await settled(queue);
  assert.deepEqual(queue.waiting(), []);
  assert.deepEqual(sent.slice(-2), ["a", "b"]);
});

test("the pauses grow, to half a minute at most", async () => {
  const { queue, waits } = queueWith(() => ({ later: "service" }));
  queue.add({ key: "a" });
  await settled(queue);
  for (let n = 0; n < 8; n += 1) {
    waits.at(-1)[1]();
    await settled(queue);
  }
  assert.deepEqual(waits.map(([ms]) => ms), [1000, 2000, 4000, 8000, 16000, 30000, 30000, 30000, 30000]);
});

test("what is refused is set aside with its words and holds up nothing", async () => {
  const { queue, told } = queueWith((item) => (item.key === "bad" ? { refused: "It cannot be." } : { kept: {} }));
  for (const key of ["a", "bad", "b"]) queue.add({ key });
  await settled(queue);
  assert.deepEqual(queue.aside().map((item) => [item.key, item.refused]), [["bad", "It cannot be."]]);
  assert.deepEqual(told.filter((line) => line.startsWith("kept")), ["kept a", "kept b"]);
});

test("what was set aside can be tried again, or let go", async () => {
  let mended = false;
  const { queue } = queueWith(() => (mended ? { kept: {} } : { refused: "No." }));
  queue.add({ key: "a" });
  queue.add({ key: "b" });
  await settled(queue);
  mended = true;
  const [a, b] = queue.aside();
  queue.settle(a.place, true);
  queue.settle(b.place, false);
  await settled(queue);
  assert.deepEqual([queue.waiting(), queue.aside()], [[], []]);
});

test("an entry that was never sent is dropped; one that may have arrived is not", async () => {
  const { queue } = queueWith(() => ({ later: "connection" }));
  queue.add({ key: "sent" });
  queue.add({ key: "unsent" });
  await settled(queue);
  assert.equal(queue.drop("unsent"), true);
  assert.equal(queue.drop("sent"), false);
  assert.deepEqual(queue.waiting().map((item) => item.key), ["sent"]);
});

test("a page that is opened anew finds what waits", async () => {
  const first = queueWith(() => ({ later: "connection" }));
  first.queue.add({ key: "a" });
  first.queue.add({ key: "b" });
  await settled(first.queue);
  const second = queueWith(() => ({ kept: {} }), first.keep);
  second.queue.flush();
  await settled(second.queue);
  assert.deepEqual(second.sent, ["a", "b"]);
});

test("two windows that add at once overwrite nothing", async () => {
  const keep = shelf();
  const [one, other] = [queueWith(() => ({ later: "token" }), keep), queueWith(() => ({ later: "token" }), keep)];
  one.queue.add({ key: "a" });
  other.queue.add({ key: "b" });
  await Promise.all([settled(one.queue), settled(other.queue)]);
  assert.deepEqual(one.queue.waiting().map((item) => item.key).sort(), ["a", "b"]);
});

test("the state is told in words", () => {
  assert.equal(queueWords(0, 0, null), "All kept");
  assert.equal(queueWords(1, 0, "connection"), "1 waiting, no connection");
  assert.equal(queueWords(2, 1, "token"), "2 waiting, no token, 1 refused");
});
