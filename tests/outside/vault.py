"""Sealed files and sealed rows, held beside libraries that are not ours.

    vault.py FOLDER    FOLDER holds what app/vault/tests/outside.rs wrote:
                       NAME.plain, NAME.bytes.age, NAME.letters.age, passphrase, vectors.json, golden.sealed

Ours is opened by pyrage (the Rust age library); controls with one bit changed must be refused. Files sealed by pyrage
are left as NAME.theirs-bytes.age and NAME.theirs-letters.age for ours to open. Derived keys are asked of
argon2-cffi (the reference C code) and of OpenSSL (HKDF, scrypt); sealed rows and wrapped keys are opened
with libsodium alone. Then the examples of the standards that our own tests carry from memory are computed by
these libraries.

Prints one line a check; exit 1 with the reasons if anything is wrong.
"""

import base64
import json
import sys
from pathlib import Path

import pyrage
from argon2.low_level import Type, hash_secret_raw
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt
from nacl.bindings import (
    crypto_aead_xchacha20poly1305_ietf_decrypt as xdecrypt,
    crypto_aead_xchacha20poly1305_ietf_encrypt as xencrypt,
)

THEIRS = ["empty", "one", "chunk", "chunk_and_one"]
CROCKFORD = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


class Wrong(Exception):
    """Ours and theirs differ."""


def need(condition, words):
    if not condition:
        raise Wrong(words)


def unpad(word):
    return base64.b64decode(word + "=" * (-len(word) % 4), validate=True)


def files(folder):
    passphrase = (folder / "passphrase").read_text()
    names = sorted(path.stem for path in folder.glob("*.plain"))
    need(len(names) >= 7, "files to open")
    for name in names:
        plain = (folder / f"{name}.plain").read_bytes()
        for form in ["bytes", "letters"]:
            sealed = (folder / f"{name}.{form}.age").read_bytes()
            got = pyrage.passphrase.decrypt(sealed, passphrase)
            need(got == plain, f"{name}.{form}: other text")

    def refused(file, words, what):
        try:
            pyrage.passphrase.decrypt(bytes(file), words)
        except pyrage.DecryptError:
            return 1
        raise Wrong(f"control: {what} opened")

    refusals = 0
    for form in ["bytes", "letters"]:
        sealed = (folder / f"one.{form}.age").read_bytes()
        need(pyrage.passphrase.decrypt(sealed, passphrase) == (folder / "one.plain").read_bytes(), "control")
        refusals += refused(sealed, passphrase + "x", f"{form} with a wrong passphrase")
        # In the letters the last two lines are a piece of the text and the end's own line.
        for at in [60, len(sealed) - 60, len(sealed) - (1 if form == "bytes" else 40)]:
            broken = bytearray(sealed)
            broken[at] ^= 1
            refusals += refused(broken, passphrase, f"{form} with byte {at} changed")
        refusals += refused(sealed[: len(sealed) - 60], passphrase, f"{form} cut short")
    print(f"pyrage {2 * len(names)} files of ours opened, {', '.join(names)}; {refusals} wrong ones refused")
    for name in THEIRS:
        plain = (folder / f"{name}.plain").read_bytes()
        for form, armoured in [("bytes", False), ("letters", True)]:
            sealed = pyrage.passphrase.encrypt(plain, passphrase, armored=armoured)
            (folder / f"{name}.theirs-{form}.age").write_bytes(sealed)
    print(f"pyrage {2 * len(THEIRS)} files of theirs left for ours to open")


def argon2id(passphrase, how):
    kind, version, m, t, p, salt = how.split(",")
    need((kind, version) == ("argon2id", "v=19"), how)
    m, t, p = (int(word[2:]) for word in (m, t, p))
    secret, salt = passphrase.encode(), unpad(salt)
    reference = hash_secret_raw(secret, salt, t, m, p, 32, Type.ID, 19)
    openssl = Argon2id(salt=salt, length=32, iterations=t, lanes=p, memory_cost=m).derive(secret)
    need(reference == openssl, "the two libraries agree")
    return reference


def keys(vectors):
    for case in vectors["argon2id"]:
        got = argon2id(case["passphrase"], case["how"]).hex()
        need(got == case["key"], f"{case['how']}: {got}")
    other = argon2id("another", vectors["argon2id"][0]["how"]).hex()
    need(other != vectors["argon2id"][0]["key"], "control: another passphrase, another key")
    print(f"argon2id {len(vectors['argon2id'])} keys as the reference C code and OpenSSL derive them")
    for case in vectors["recovery"]:
        code = bytes.fromhex(case["code"])
        key = HKDF(hashes.SHA256(), 32, None, b"pinfold recovery code 1").derive(code)
        need(key.hex() == case["key"], f"recovery {case['code']}")
        signs = case["printed"].replace("-", "")
        number = 0
        for sign in signs[:26]:
            number = number * 32 + CROCKFORD.index(sign)
        check = CROCKFORD.index(signs[26]) * 32 + CROCKFORD.index(signs[27])
        need(len(signs) == 28 and number == int.from_bytes(code), f"printed {case['printed']}")
        need(number % 1021 == check, f"check of {case['printed']}")
    print(f"recovery {len(vectors['recovery'])} codes: HKDF by OpenSSL, signs and check by arithmetic")


def rows(text, packs, vectors):
    """The whole hierarchy, opened with libsodium and the words of DEVELOPERS.md alone."""

    def opened(key, bound, sealed, nonce=None):
        if nonce is None:
            nonce, sealed = sealed[:24], sealed[24:]
        return xdecrypt(sealed, bound.encode(), nonce, key)

    lines = text.splitlines()
    wrapped = dict()
    for line in lines:
        if line.startswith("key1 "):
            head, word = line.rsplit(" ", 1)
            wrapped[head.split(" ")[1]] = (f"pinfold {head}", unpad(word))
    data = opened(bytes.fromhex(vectors["golden"]["passphrase_key"]), *wrapped["passphrase"])
    again = opened(bytes.fromhex(vectors["golden"]["recovery_key"]), *wrapped["recovery"])
    need(data == again, "both doors lead to one data key")
    inner = {name: opened(data, *wrapped[name]) for name in wrapped if name not in ("passphrase", "recovery")}
    entries = 0
    for line in lines:
        if line.startswith("key1 "):
            continue
        row, codec, key, *words = line.split(" ")
        counter, replica = row.split("-")
        name = f"{int(counter)}-{replica}"
        need(codec == "sealed1", codec)
        first = unpad(words[0])
        part = "whole" if key == "practice" else "envelope"
        bound = f"pinfold sealed1 {part}\n{name}\n{key}\n"
        entry = json.loads(opened(inner["practice"], bound, first))
        need(entry["id"] == name, name)
        if key != "practice":
            need(entry["key"] == key and entry["body"] is None, "an envelope without a body")
            bound = f"pinfold sealed1 body\n{name}\n{key}\n{words[0]}"
            body = opened(inner[key], bound, unpad(words[1]), first[:24])
            entry["body"] = json.loads(body)
            try:
                opened(inner["practice"], bound, unpad(words[1]), first[:24])
            except Exception:
                pass
            else:
                raise Wrong("control: the practice's key opened a person's body")
        need(isinstance(entry["body"], dict), "a body")
        entries += 1
    need(entries == 29, f"{entries} entries")
    parts = bodies = 0
    for line in packs.splitlines():
        name, codec, first, *rest = line.split(" ")
        need(codec == "sealed1", codec)
        bound = f"pinfold sealed1 pack envelopes\n{name}\npractice\n"
        envelopes = opened(inner["practice"], bound, unpad(first))
        need(envelopes[0] == 1, "the version of the envelopes")
        for key, word in zip(rest[::2], rest[1::2]):
            bound = f"pinfold sealed1 pack bodies\n{name}\n{key}\n{first}"
            part = opened(inner[key], bound, unpad(word))
            bodies += part.count(b'{"')
            for other, wrong in [("practice" if key != "practice" else "p:4-00000000000000000000000000000007", bound), (key, bound + "x")]:
                try:
                    opened(inner[other], wrong, unpad(word))
                except Exception:
                    pass
                else:
                    raise Wrong("control: another key or another name opened a part")
            parts += 1
    need(parts > 2 and bodies >= 29, f"{parts} parts of packs, {bodies} bodies")
    print(f"libsodium {parts} parts of bodies in golden packs opened, each by its own key and name only")
    print(f"libsodium {entries} golden rows and {len(wrapped)} wrapped keys opened; bodies not by the practice's key")


def standards():
    got = hash_secret_raw(b"password", b"somesalt", 2, 65536, 1, 32, Type.ID, 19).hex()
    need(got == "09316115d5cf24ed5a15a31a3ba326e5cf32edc24702987c02b6566f61913cf7", "argon2's own test")
    key = bytes(range(0x80, 0xA0))
    text = (
        b"Ladies and Gentlemen of the class of '99: If I could offer you only one tip "
        b"for the future, sunscreen would be it."
    )
    aad = bytes.fromhex("50515253c0c1c2c3c4c5c6c7")
    got = xencrypt(text, aad, bytes(range(0x40, 0x58)), key).hex()
    need(got.startswith("bd6d179d3e83d43b9576579493c0e939572a1700252bfaccbed2902c21396cbb"), "XChaCha20")
    need(got.endswith("2f8c9ba40db5d945b11b69b982c1bb9e3f3fac2bc369488f76b2383565d3fff921f9664c97637da9768812f615c68b13b52e" "c0875924c1c7987947deafd8780acf49"), "its tag")
    okm = HKDF(hashes.SHA256(), 42, bytes(range(13)), bytes(range(0xF0, 0xFA))).derive(b"\x0b" * 22).hex()
    need(okm == "3cb25f25faacd57a90434f64d0362f2a2d2d0a90cf1a5a4c5db02d56ecc4c5bf34007208d5b887185865", "HKDF")
    got = Scrypt(salt=b"NaCl", length=64, n=1024, r=8, p=16).derive(b"password").hex()
    need(got.startswith("fdbabe1c9d3472007856e7190d01e9fe7c6ad7cbc8237830e77376634b373162"), "scrypt 2")
    got = Scrypt(salt=b"SodiumChloride", length=64, n=16384, r=8, p=1).derive(b"pleaseletmein").hex()
    need(got.startswith("7023bdcb3afd7348461c06cd81fd38ebfda8fbba904f8e3ea9b543f6545da1f2"), "scrypt 3")
    # RFC 9106, 5.3: with secret and associated data, which of these libraries OpenSSL's binding takes.
    got = Argon2id(salt=b"\x02" * 16, length=32, iterations=3, lanes=4, memory_cost=32, ad=b"\x04" * 12, secret=b"\x03" * 8)
    got = got.derive(b"\x01" * 32).hex()
    need(got == "0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659", "RFC 9106")
    print("standards the examples carried from memory (XChaCha draft, RFC 5869, 7914, 9106) are what these libraries compute")


def main(folder):
    folder = Path(folder)
    vectors = json.loads((folder / "vectors.json").read_text())
    wrong = 0
    for check in [
        lambda: files(folder),
        lambda: keys(vectors),
        lambda: rows((folder / "golden.sealed").read_text(), (folder / "golden.packs").read_text(), vectors),
        standards,
    ]:
        try:
            check()
        except Wrong as why:
            print(f"WRONG: {why}")
            wrong = 1
    return wrong


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
