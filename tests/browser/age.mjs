// Sealed copies, opened and made by Node's own ciphers and the format's words alone (C2SP age.md): no line
// of it is shared with what the app ships.
import crypto from "node:crypto";

const CHUNK = 65536;
const TAG = 16;

const hkdf = (key, salt, info) => Buffer.from(crypto.hkdfSync("sha256", key, salt, info, 32));
const unpadded = (bytes) => bytes.toString("base64").replace(/=+$/, "");
const wrapKey = (passphrase, salt, work) => crypto.scryptSync(passphrase, Buffer.concat([Buffer.from("age-encryption.org/v1/scrypt"), salt]), 32, { N: 2 ** work, r: 8, p: 1, maxmem: 2 ** (work + 11) });
const sumOf = (fileKey, head) => unpadded(crypto.createHmac("sha256", hkdf(fileKey, "", "header")).update(head).digest());

function cipher(key, nonce, text) {
  const made = crypto.createCipheriv("chacha20-poly1305", key, nonce, { authTagLength: TAG });
  return Buffer.concat([made.update(text), made.final(), made.getAuthTag()]);
}

function decipher(key, nonce, sealed) {
  const made = crypto.createDecipheriv("chacha20-poly1305", key, nonce, { authTagLength: TAG });
  made.setAuthTag(sealed.subarray(-TAG));
  return Buffer.concat([made.update(sealed.subarray(0, -TAG)), made.final()]);
}

const counted = (number, last) => {
  const nonce = Buffer.alloc(12);
  nonce.writeUInt32BE(number, 7);
  nonce[11] = last ? 1 : 0;
  return nonce;
};

/** The bytes that letters stand for. */
export const bytesOf = (letters) => Buffer.from(letters.split(/\r?\n/).filter((line) => line && !line.startsWith("-----")).join(""), "base64");

/** Letters of some bytes. */
export const lettersOf = (bytes) => `-----BEGIN AGE ENCRYPTED FILE-----\n${bytes.toString("base64").replace(/(.{64})(?!$)/g, "$1\n")}\n-----END AGE ENCRYPTED FILE-----\n`;

/** What stands in the header: the work, and where the sealed text begins. */
export function headOf(bytes) {
  const text = bytes.toString("latin1");
  const found = /^age-encryption\.org\/v1\n-> scrypt (\S+) (\d+)\n(\S+)\n--- (\S+)\n/.exec(text);
  if (!found) throw new Error("no sealed file");
  return { salt: Buffer.from(found[1], "base64"), work: Number(found[2]), wrapped: Buffer.from(found[3], "base64"), sum: found[4], summed: found[0].slice(0, found[0].lastIndexOf(" ")), length: found[0].length };
}

/** Opens a copy, in letters or bytes; throws if anything does not fit. */
export function openCopy(file, passphrase) {
  const bytes = typeof file === "string" ? bytesOf(file) : file;
  const head = headOf(bytes);
  const fileKey = decipher(wrapKey(passphrase, head.salt, head.work), Buffer.alloc(12), head.wrapped);
  if (sumOf(fileKey, head.summed) !== head.sum) throw new Error("the header was changed");
  const key = hkdf(fileKey, bytes.subarray(head.length, head.length + 16), "payload");
  const rest = bytes.subarray(head.length + 16);
  const plain = [];
  for (let at = 0, number = 0; at < rest.length; at += CHUNK + TAG, number += 1) {
    const chunk = rest.subarray(at, at + CHUNK + TAG);
    plain.push(decipher(key, counted(number, at + CHUNK + TAG >= rest.length), chunk));
  }
  return Buffer.concat(plain).toString();
}

/** Seals a text of less than a chunk, in bytes. */
export function sealCopy(text, passphrase, work = 15) {
  const [fileKey, salt, nonce] = [crypto.randomBytes(16), crypto.randomBytes(16), crypto.randomBytes(16)];
  const wrapped = cipher(wrapKey(passphrase, salt, work), Buffer.alloc(12), fileKey);
  const head = `age-encryption.org/v1\n-> scrypt ${unpadded(salt)} ${work}\n${unpadded(wrapped)}\n---`;
  return Buffer.concat([Buffer.from(`${head} ${sumOf(fileKey, head)}\n`), nonce, cipher(hkdf(fileKey, nonce, "payload"), counted(0, true), Buffer.from(text))]);
}
