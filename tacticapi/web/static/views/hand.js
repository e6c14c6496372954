// A match goes over to another phone: by a link or a code to scan, with the points that were never sent from here.

import { token } from "../api.js";
import { hear } from "../bus.js";
import { announce, button, h } from "../dom.js";
import { enter, queue } from "../entries.js";
import { now } from "../match.js";
import { qr } from "../qr.js";
import { many } from "../words.js";

const QUIET = 4; // light modules round the code, which a reader needs
const DOT_PX = 8;
const LETTERS = {
  W: [{ winner: "own" }, "Point won"],
  E: [{ winner: "opponent", own_error: false }, "Lost: they earned it"],
  O: [{ winner: "opponent", own_error: true }, "Lost: own error"],
};
const letterOf = (body) => Object.keys(LETTERS).find((letter) => JSON.stringify(LETTERS[letter][0]) === JSON.stringify(body));

/** The screen on the phone that gives, or with points on the phone that takes. */
export async function handScreen(signal, points) {
  return points ? take(points) : give(signal);
}

function give(signal) {
  const box = h("div");
  const show = () => box.replaceChildren(...offered());
  hear("queue", show, signal);
  show();
  return [h("h1", { tabindex: "-1" }, "Hand over"), box];
}

function offered() {
  const { id } = now.match;
  const waiting = queue.waiting().filter((item) => item.match === id);
  const letters = waiting.map((item) => (item.noun === "points" && letterOf(item.body)) || "");
  const left = letters.filter((letter) => !letter).length;
  const held = letters.join("");
  const address = `${location.origin}/match#/m/${id}/${held ? `hand/${held}` : "score"}`;
  const copy = () => navigator.clipboard.writeText(address).then(() => announce("The link is copied."), () => announce("Copy the link by hand."));
  return [
    h("p", {}, "Scan this with the other phone, or send it the link. Both phones may go on with the match."),
    code(address),
    h("p", { class: "link" }, address),
    h("div", { class: "row" }, navigator.clipboard ? button("Copy the link", copy) : null, navigator.share ? button("Send the link", () => navigator.share({ url: address }).catch(() => {})) : null),
    held ? h("p", { class: "notice" }, `With it go ${many(held.length, "point")} that wait on this phone.`) : null,
    left ? h("p", { class: "notice" }, `${many(left, "other entry", "other entries")} can be sent from this phone only, once it has a connection.`) : null,
    token.get() ? h("p", {}, "The other phone is asked for the token.") : null,
  ].filter(Boolean);
}

function code(text) {
  const rows = qr(text);
  const size = (rows.length + 2 * QUIET) * DOT_PX;
  const picture = h("canvas", { width: size, height: size, class: "code", role: "img", "aria-label": "The link as a code to scan" });
  const pen = picture.getContext("2d");
  pen.fillStyle = "white"; // whatever the colours of the page: readers want dark on light
  pen.fillRect(0, 0, size, size);
  pen.fillStyle = "black";
  rows.forEach((row, y) => row.forEach((dark, x) => { if (dark) pen.fillRect((x + QUIET) * DOT_PX, (y + QUIET) * DOT_PX, DOT_PX, DOT_PX); }));
  return picture;
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
