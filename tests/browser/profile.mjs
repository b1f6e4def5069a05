// A finder's view: every byte that a browser left in its profile. What Chromium's stores (LevelDB)
// pressed together is unpacked, what they cut into records is put together again, and the whole is
// searched as UTF-8 and as UTF-16 of either order.
import fs from "node:fs";
import path from "node:path";

/** Snappy's raw format, as its description has it: a length, then literals and copies. */
export function unsnap(bytes) {
  let at = 0;
  const varint = () => {
    let value = 0;
    for (let shift = 0; ; shift += 7) {
      const byte = bytes[at++];
      value += (byte & 127) * 2 ** shift;
      if (byte < 128) return value;
      if (shift > 28) throw new Error("no length");
    }
  };
  const out = Buffer.alloc(varint());
  let to = 0;
  while (at < bytes.length) {
    const tag = bytes[at++];
    const number = (count) => { let value = 0; for (let n = 0; n < count; n += 1) value += bytes[at++] * 2 ** (8 * n); return value; };
    if ((tag & 3) === 0) {
      const short = tag >> 2;
      const length = (short < 60 ? short : number(short - 59)) + 1;
      to += bytes.copy(out, to, at, at + length);
      at += length;
      continue;
    }
    const length = (tag & 3) === 1 ? ((tag >> 2) & 7) + 4 : (tag >> 2) + 1;
    const back = (tag & 3) === 1 ? (tag >> 5) * 256 + bytes[at++] : number((tag & 3) === 2 ? 2 : 4);
    if (back === 0 || back > to) throw new Error("a copy from nowhere");
    for (let n = 0; n < length; n += 1, to += 1) out[to] = out[to - back];
  }
  if (to !== out.length) throw new Error("cut short");
  return out;
}

/** A log of LevelDB: blocks of 32 KiB, records with a head of seven bytes, some cut over blocks. */
function logRecords(bytes) {
  const parts = [];
  for (let block = 0; block < bytes.length; block += 32768) {
    const end = Math.min(block + 32768, bytes.length);
    for (let at = block; at + 7 <= end;) {
      const [length, kind] = [bytes.readUInt16LE(at + 4), bytes[at + 6]];
      if (kind === 0 && length === 0) break;
      parts.push(bytes.subarray(at + 7, Math.min(at + 7 + length, end)));
      at += 7 + length;
    }
  }
  // Without the heads between them: a text that was cut is whole again.
  return Buffer.concat(parts);
}

/** A table of LevelDB: the footer names the index, the index the blocks. */
function tableBlocks(bytes) {
  const varint = (from, at) => {
    let value = 0;
    for (let shift = 0; ; shift += 7) {
      const byte = from[at++];
      value += (byte & 127) * 2 ** shift;
      if (byte < 128) return [value, at];
    }
  };
  const handle = (from, at) => { const [offset, next] = varint(from, at); const [size, after] = varint(from, next); return [{ offset, size }, after]; };
  const block = ({ offset, size }) => {
    const text = bytes.subarray(offset, offset + size);
    return bytes[offset + size] === 1 ? unsnap(text) : text;
  };
  const footer = bytes.subarray(bytes.length - 48);
  if (footer.readBigUInt64LE(40) !== 0xdb4775248b80fb57n) throw new Error("not a table");
  const [, after] = handle(footer, 0);
  const [index] = handle(footer, after);
  const entries = block(index);
  const restarts = entries.length - 4 - 4 * entries.readUInt32LE(entries.length - 4);
  const blocks = [];
  for (let at = 0; at < restarts;) {
    let shared, own, length;
    [shared, at] = varint(entries, at);
    [own, at] = varint(entries, at);
    [length, at] = varint(entries, at);
    blocks.push(block(handle(entries, at + own)[0]));
    at += own + length;
  }
  return blocks;
}

/** Every file below a folder, with what it holds: as it lies there, and unpacked. `count` says what was read. */
export function readProfile(folder) {
  const found = [];
  const count = { files: 0, logs: 0, tables: 0, unread: 0 };
  const walk = (place) => {
    for (const entry of fs.readdirSync(place, { withFileTypes: true })) {
      const file = path.join(place, entry.name);
      if (entry.isDirectory()) { walk(file); continue; }
      if (!entry.isFile()) continue;
      const bytes = fs.readFileSync(file);
      const holds = [bytes];
      count.files += 1;
      try {
        if (/^\d+\.log$/.test(entry.name)) { holds.push(logRecords(bytes)); count.logs += 1; }
        if (/\.ldb$/.test(entry.name)) { holds.push(...tableBlocks(bytes)); count.tables += 1; }
      } catch { count.unread += 1; }
      found.push({ file: path.relative(folder, file), holds });
    }
  };
  walk(folder);
  return { found, count };
}

/** The files in which a word stands, in any of three ways to write it. */
export function whereStands({ found }, word, only = () => true) {
  const little = Buffer.from(word, "utf16le");
  const spellings = [Buffer.from(word, "utf8"), little, Buffer.from(little).swap16()];
  return found.filter(({ file, holds }) => only(file) && holds.some((bytes) => spellings.some((one) => bytes.includes(one)))).map(({ file }) => file);
}
