// Elements made by hand: text never passes through an HTML parser, so nothing typed can become markup.

/** An element with properties and children. A name that begins with "on" is a listener; null, undefined and false are left out. */
export function h(tag, properties = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(properties)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else if (name === "value") made.value = value;
    else made.setAttribute(name, value === true ? "" : value);
  }
  made.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false));
  return made;
}

/** A button for a thumb. */
export function button(words, onclick, properties = {}) {
  return h("button", { type: "button", onclick, ...properties }, words);
}

/** A labelled field; `control` must carry an id. */
export function field(words, control, hint) {
  const note = hint ? h("small", { id: `${control.id}-hint` }, hint) : null;
  if (note) control.setAttribute("aria-describedby", note.id);
  return h("div", { class: "field" }, h("label", { for: control.id }, words), note, control);
}

/** A choice from [value, words] pairs. */
export function choice(id, pairs, chosen = "", properties = {}) {
  const options = pairs.map(([value, words]) => h("option", { value, selected: value === chosen }, words));
  return h("select", { id, ...properties }, options);
}

/** A section of the screen with its heading. */
export function part(words, properties, ...children) {
  const id = `h-${words.toLowerCase().replace(/[^a-z]+/g, "-")}`;
  return h("section", { "aria-labelledby": id, ...properties }, h("h2", { id }, words), ...children);
}

let clearing = 0;

/** Tell people who cannot see the change: the live region announces only new text. */
export function announce(words) {
  const region = document.getElementById("announce");
  region.textContent = "";
  clearTimeout(clearing);
  clearing = setTimeout(() => {
    region.textContent = words;
  }, 50);
}
