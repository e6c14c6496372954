// A QR code (ISO/IEC 18004: bytes, error correction L, versions 1 to 10, mask 0), drawn here since a phone that hands its
// match over may have no connection.

const MAX_VERSION = 10;
const CHECK_BYTES = [7, 10, 15, 20, 26, 18, 20, 24, 30, 18]; // of a block, by version
const BLOCKS = [1, 1, 1, 1, 1, 2, 2, 2, 2, 4];
const LEVEL_L_MASK_0 = 0b01000;
const range = (n) => [...Array(n).keys()];

function times(x, y) {
  return [7, 6, 5, 4, 3, 2, 1, 0].reduce((z, i) => (z << 1) ^ ((z >>> 7) * 0x11d) ^ (((y >>> i) & 1) * x), 0);
}

function checkBytes(data, degree) {
  const divisor = [...Array(degree - 1).fill(0), 1];
  let root = 1;
  for (const _ of range(degree)) {
    range(degree).forEach((j) => { divisor[j] = times(divisor[j], root) ^ (divisor[j + 1] ?? 0); });
    root = times(root, 2);
  }
  const rest = Array(degree).fill(0);
  for (const byte of data) {
    const factor = byte ^ rest.shift();
    rest.push(0);
    divisor.forEach((each, i) => { rest[i] ^= times(each, factor); });
  }
  return rest;
}

function allBytes(version) {
  const align = version > 1 ? Math.floor(version / 7) + 2 : 0;
  const bits = (16 * version + 128) * version + 64 - (align ? (25 * align - 10) * align - 55 : 0) - (version >= 7 ? 36 : 0);
  return Math.floor(bits / 8);
}

/** The bytes of the symbol: the text, filled up, in blocks with their check bytes, one byte of each block in turn. */
function symbolBytes(bytes, version) {
  const [blocks, checks, all] = [BLOCKS[version - 1], CHECK_BYTES[version - 1], allBytes(version)];
  const room = all - blocks * checks;
  const count = version < 10 ? 8 : 16;
  let bits = "0100" + bytes.length.toString(2).padStart(count, "0") + bytes.map((each) => each.toString(2).padStart(8, "0")).join("");
  bits += "0".repeat(Math.min(4, room * 8 - bits.length));
  bits += "0".repeat(-bits.length & 7);
  const data = bits.match(/.{8}/g).map((each) => parseInt(each, 2));
  for (let fill = 0xec; data.length < room; fill ^= 0xec ^ 0x11) data.push(fill);
  const [short, length] = [blocks - (all % blocks), Math.floor(all / blocks) - checks];
  let at = 0;
  const parts = range(blocks).map((i) => data.slice(at, (at += length + (i < short ? 0 : 1))));
  const ends = parts.map((part) => checkBytes(part, checks));
  return [...range(length + 1).flatMap((i) => parts.flatMap((part) => part.slice(i, i + 1))), ...range(checks).flatMap((i) => ends.map((end) => end[i]))];
}

function remainder(value, digits, generator) {
  return range(digits).reduce((rest) => (rest << 1) ^ ((rest >>> (digits - 1)) * generator), value);
}

/** Rows of true (dark) and false. Throws RangeError for a text that is too long. */
export function qr(text) {
  const bytes = [...new TextEncoder().encode(text)];
  const fits = (version) => bytes.length + (version < 10 ? 2 : 3) <= allBytes(version) - BLOCKS[version - 1] * CHECK_BYTES[version - 1];
  const version = range(MAX_VERSION).map((n) => n + 1).find(fits);
  if (!version) throw new RangeError("too long for this code");
  const size = version * 4 + 17;
  const dark = range(size).map(() => Array(size).fill(false));
  const fixed = range(size).map(() => Array(size).fill(false));
  const set = (x, y, on) => {
    if (dark[y]?.[x] === undefined) return;
    dark[y][x] = Boolean(on);
    fixed[y][x] = true;
  };
  const square = (x, y, reach, light) => range(2 * reach + 1).forEach((i) => range(2 * reach + 1).forEach((j) => set(x + i - reach, y + j - reach, !light.includes(Math.max(Math.abs(i - reach), Math.abs(j - reach))))));
  range(size).forEach((i) => { set(6, i, i % 2 === 0); set(i, 6, i % 2 === 0); });
  for (const [x, y] of [[3, 3], [size - 4, 3], [3, size - 4]]) square(x, y, 4, [2, 4]);
  const marks = version === 1 ? [] : version < 7 ? [6, size - 7] : [6, (size - 1) / 2, size - 7];
  const corner = (x, y) => (x === 6 && (y === 6 || y === size - 7)) || (x === size - 7 && y === 6);
  for (const x of marks) for (const y of marks) if (!corner(x, y)) square(x, y, 2, [1]);
  const format = ((LEVEL_L_MASK_0 << 10) | remainder(LEVEL_L_MASK_0, 10, 0x537)) ^ 0x5412;
  range(15).forEach((i) => {
    const on = (format >>> i) & 1;
    if (i < 6) set(8, i, on);
    else if (i < 8) set(8, i + 1, on);
    else set(i === 8 ? 7 : 14 - i, 8, on);
    if (i < 8) set(size - 1 - i, 8, on);
    else set(8, size - 15 + i, on);
  });
  set(8, size - 8, true);
  if (version >= 7) {
    const told = (version << 12) | remainder(version, 12, 0x1f25);
    range(18).forEach((i) => { for (const [x, y] of [[size - 11 + (i % 3), Math.floor(i / 3)], [Math.floor(i / 3), size - 11 + (i % 3)]]) set(x, y, (told >>> i) & 1); });
  }
  const bits = symbolBytes(bytes, version).flatMap((byte) => range(8).map((i) => (byte >>> (7 - i)) & 1));
  for (let right = size - 1; right >= 1; right -= right === 8 ? 3 : 2) {
    for (const step of range(size)) {
      for (const x of [right, right - 1]) {
        const y = ((right + 1) & 2) === 0 ? size - 1 - step : step;
        if (!fixed[y][x]) dark[y][x] = Boolean((bits.shift() ?? 0) ^ ((x + y) % 2 === 0 ? 1 : 0));
      }
    }
  }
  return dark;
}
