// A match's last entries on this device, so that they can be undone. An undone entry stays until the service has withdrawn
// it, because that needs its id.

import * as keep from "./keep.js";

const MOST = 30;

const nameOf = (match) => `log/${match}`;

/** Entries that can be undone, newest last: {key, noun, words, group}. */
export function entriesOf(match) {
  return keep.read(nameOf(match), []).filter((entry) => !entry.undone);
}

export function remember(match, entry) {
  const all = [...keep.read(nameOf(match), []), entry];
  const spare = all.length - MOST;
  keep.write(nameOf(match), all.filter((each, place) => place >= spare || each.undone));
}

/** Change an entry, or forget it if `change` is null. */
export function amend(match, key, change) {
  const all = keep.read(nameOf(match), []);
  const rest = all.flatMap((entry) => {
    if (entry.key !== key) return [entry];
    return change ? [{ ...entry, ...change }] : [];
  });
  keep.write(nameOf(match), rest);
}

/** The service's id for an entry, null while it has none. */
export function entryId(match, key) {
  return keep.read(nameOf(match), []).find((entry) => entry.key === key)?.id ?? null;
}
