// Hand a match over to another phone: by a link for one phone, also shown as a code to scan, or, without a connection, by a
// plain link that carries the points not yet sent from here.

import { Refused, ask, token } from "../api.js";
import { hear } from "../bus.js";
import { announce, button, h } from "../dom.js";
import { enter, queue } from "../entries.js";
import { root } from "../keep.js";
import { now } from "../match.js";
import { many, timeWords } from "../words.js";

const LETTERS = {
  W: [{ winner: "own" }, "Point won"],
  E: [{ winner: "opponent", own_error: false }, "Lost: they earned it"],
  O: [{ winner: "opponent", own_error: true }, "Lost: own error"],
};
const letterOf = (body) => Object.keys(LETTERS).find((letter) => JSON.stringify(LETTERS[letter][0]) === JSON.stringify(body));

/** The screen on the phone that hands over or, with points, on the phone that takes over. */
export async function handScreen(signal, points) {
  return points ? take(points) : give(signal);
}

function give(signal) {
  const box = h("div");
  let link = null; // for one phone, once; it carries no points, so it is requested only while none are waiting
  const show = () => {
    const waiting = queue.waiting().filter((item) => item.match === now.match.id);
    box.replaceChildren(...(link && !waiting.length ? once(link) : plain(waiting)));
  };
  hear("queue", show, signal);
  show();
  ask("POST", `/v1/matches/${now.match.id}/court-links`).then(({ body }) => {
    if (signal.aborted) return;
    link = body;
    show();
  }, () => {}); // without a connection, or if the token does not allow it, the plain link stays
  return [h("h1", { tabindex: "-1" }, "Hand over"), box];
}

/** A link that lets one phone in: it brings a token for the match. */
function once({ url, qr, open_until: until }) {
  const drawn = document.importNode(new DOMParser().parseFromString(qr, "text/html").querySelector("svg"), true);
  for (const [name, value] of Object.entries({ class: "code", role: "img", "aria-label": "The link as a code to scan" })) drawn.setAttribute(name, value);
  return [
    h("p", {}, `Scan this with the other phone, or send it the link. It lets one phone into this match, once, until ${timeWords(until)}. Both phones can carry on with the match.`),
    drawn,
    ...given(url),
  ];
}

/** A link to the match, with the points waiting here. */
function plain(waiting) {
  const letters = waiting.map((item) => (item.noun === "points" && letterOf(item.body)) || "");
  const left = letters.filter((letter) => !letter).length;
  const held = letters.join("");
  return [
    h("p", {}, "Send the other phone this link. Both phones can carry on with the match."),
    ...given(`${location.origin}${root}/match#/m/${now.match.id}/${held ? `hand/${held}` : "score"}`),
    held ? h("p", { class: "notice" }, `It carries ${many(held.length, "point")} waiting on this phone.`) : null,
    left ? h("p", { class: "notice" }, `${many(left, "other entry", "other entries")} can be sent only from this phone, once it is back online.`) : null,
    token.get() ? h("p", {}, "The other phone will ask for the token.") : null,
  ].filter(Boolean);
}

function given(url) {
  const copy = () => navigator.clipboard.writeText(url).then(() => announce("Link copied."), () => announce("Copy the link by hand."));
  return [
    h("p", { class: "link" }, url),
    h("div", { class: "row" }, navigator.clipboard ? button("Copy the link", copy) : null, navigator.share ? button("Send the link", () => navigator.share({ url }).catch(() => {})) : null),
  ];
}

const opened = {}; // by code: a screen that is redrawn must not use the link twice

/** The screen that a link for one phone leads to. */
export async function courtScreen(signal, code) {
  try {
    const { body } = await (opened[code] ??= ask("POST", "/v1/court-tokens", { body: { code } }));
    token.set(body.token);
    location.replace(`#/m/${body.match_id}/score`);
    return [h("h1", { tabindex: "-1" }, "Take over")];
  } catch (error) {
    if (!(error instanceof Refused)) delete opened[code];
    const words = error instanceof Refused ? `${error.message}. Ask for a new link on the phone that gave this one.` : "The service cannot be reached. Open the link again when you are back online.";
    return [h("h1", { tabindex: "-1" }, "This link does not work"), h("p", { role: "alert" }, words)];
  }
}

function take(points) {
  const { id } = now.match;
  const told = [...points].map((letter) => LETTERS[letter]);
  const done = () => { location.replace(`#/m/${id}/score`); };
  const yes = () => {
    for (const [body, words] of told) enter(id, "points", body, words);
    announce(`${many(told.length, "point")} taken over.`);
    done();
  };
  return [
    h("h1", { tabindex: "-1" }, "Take over"),
    h("p", {}, `The other phone holds ${many(told.length, "point")} that it could not send. Take them over only once.`),
    h("ol", {}, told.map(([, words]) => h("li", {}, words))),
    h("div", { class: "row" }, button("Take them over", yes, { class: "main" }), button("No, go to the score", done)),
  ];
}
