// The head of every screen: which match, and whether everything entered is kept.

import { token } from "../api.js";
import { hear } from "../bus.js";
import { button, field, h } from "../dom.js";
import { queue } from "../entries.js";
import { demo, fleeting, root } from "../keep.js";
import { now } from "../match.js";
import { queueWords } from "../queue.js";
import { isSign, stands } from "../safety.js";

export function drawTop() {
  const title = h("a", { href: `${root}/`, class: "home" });
  const state = h("span", { role: "status" });
  const danger = h("a", { class: "block danger" }, "Danger", h("span", { class: "unseen" }, " signs"));
  const inside = h("div");
  const entry = tokenForm();
  const box = h("details", { class: "state" }, h("summary", {}, state), inside);
  document.getElementById("top").replaceChildren(title, box, danger, entry);

  const show = () => {
    const [waiting, aside] = [queue.waiting(), queue.aside()];
    title.textContent = now.names ? `${now.names.own} and ${now.names.opponent}` : "Match page";
    state.textContent = queueWords(waiting.length, aside.length, queue.held);
    box.classList.toggle("waiting", waiting.length + aside.length > 0);
    danger.hidden = now.match?.status !== "open" || stands();
    danger.href = `#/m/${now.match?.id}/danger`;
    inside.replaceChildren(...list(waiting, aside));
  };
  hear("queue match safety full", show);
  hear("drawn", () => { box.open = false; }); // it covers what is shown
  hear("token", () => { entry.hidden = false; });
  show();
}

function list(waiting, aside) {
  const notes = [
    fleeting() ? h("p", { class: "notice" }, "This device has no storage left for the page: waiting entries are lost when you close it.") : null,
    waiting.length || aside.length ? null : h("p", {}, "Entries are kept on this device until the service has them. They wait here while you are offline."),
  ];
  const held = waiting.map((item) => h("li", {}, item.words));
  const refused = aside.map((item) =>
    h(
      "li",
      {},
      h("p", {}, h("strong", {}, item.words), ` ${item.refused}`),
      h("div", { class: "row" }, button("Try again", () => settle(item, true)), isSign(item) ? null : button("Remove", () => settle(item, false))),
    ),
  );
  return [
    ...notes,
    held.length ? h("div", {}, h("h2", {}, "Waiting"), h("ol", {}, held)) : null,
    now.match?.status === "open" && !demo ? h("p", {}, h("a", { class: "block", href: `#/m/${now.match.id}/hand` }, "Hand over to another phone")) : null,
    refused.length ? h("div", {}, h("h2", {}, "Rejected and set aside"), h("ul", { class: "plain" }, refused)) : null,
  ].filter(Boolean);
}

function settle(item, again) {
  queue.settle(item.place, again);
  document.querySelector("#top summary").focus(); // the pressed button is gone
}

/** Ask for the token once; it is kept for this window only. */
function tokenForm() {
  const input = h("input", { type: "password", id: "token", autocomplete: "off", required: true });
  const submit = (event) => {
    event.preventDefault();
    token.set(input.value.trim());
    input.value = "";
    form.hidden = true;
    queue.flush();
    window.dispatchEvent(new HashChangeEvent("hashchange"));
  };
  const form = h(
    "form",
    { class: "token", hidden: true, onsubmit: submit },
    field("Token", input, "This service needs your club's token. It is kept until you close this window, and nowhere else."),
    h("button", { class: "main" }, "Use this token"),
  );
  return form;
}
