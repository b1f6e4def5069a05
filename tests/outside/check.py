"""What Pinfold writes out, held beside libraries that are not ours.

    check.py r4 FOLDER      FHIR: fhir.resources 6.4.0, the last PyPI release that models R4 proper (4.0.1);
                            6.5.0 and later have R4B or R5 as their R4. Then checks of our own for what
                            the library lets through (the first lines of `Own` say which).
    check.py rest FOLDER    FHIR once more: fhir.resources 8.3.0, R4B. iCalendar: icalendar 7.3.2. CSV:
                            Python's csv, and a small check for formulas. JSON Schema: jsonschema 4.26.0.

Files by their ending: NAME.fhir (one Bundle a line), NAME.ics, NAME.named.ics (with names), NAME.TABLE.csv,
NAME.journal. `control.raw.csv` and `control.lines` must be refused: they are the controls for formulas
and for the schema. For FHIR and iCalendar the controls are made here, by breaking what was good.

Prints one line a file and what was checked; exit 1 with the reasons if anything is wrong.
"""

import copy
import csv
import hashlib
import io
import json
import re
import sys
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
TABLES = {
    "visits", "regions", "needles", "lots", "cream", "answers", "scores", "bookings",
}


class Wrong(Exception):
    """A file is not as its standard has it."""


def need(condition, words):
    if not condition:
        raise Wrong(words)


# --- FHIR ----------------------------------------------------------------------------------------

# Kinds that R4 lets search by identifier (DeviceUseStatement, QuestionnaireResponse, and that AdverseEvent is
# not among them: read second-hand in public tables of R4's search parameters; the others: memory).
SEARCHED = {
    "Patient", "Encounter", "Procedure", "Observation", "QuestionnaireResponse", "Device", "Consent",
    "DeviceUseStatement", "MedicationAdministration", "Appointment",
}
# Every code that may stand in a coding; all else is text. Marks are beside them in core/src/wire/fhir.rs.
CODES = {
    ("http://terminology.hl7.org/CodeSystem/v3-ActCode", "AMB"),
    ("http://loinc.org", "59284-0"),
}
SYSTEM = "urn:ietf:rfc:3986"
UUID = re.compile(r"urn:uuid:[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
ZONED = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}(Z|[+-](0\d|1[0-3]):[0-5]\d|[+-]14:00)")
DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


def once(pairs):
    names = [name for name, _ in pairs]
    need(len(names) == len(set(names)), f"a member stands twice: {names}")
    return dict(pairs)


def walk(value, path=""):
    yield path, value
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from walk(inner, f"{path}.{name}")
    if isinstance(value, list):
        for inner in value:
            yield from walk(inner, path + "[]")


class Own:
    """What the library accepts and a server may not: references that lead nowhere or to another kind,
    full URLs that stand twice, an ifNoneExist that finds something else, words outside a closed list
    of codes, a time of day without its zone, what is empty, a Consent without policy (ppc-1), a period
    that ends before it begins (per-1), a contact without system (cpt-1), a code nobody read."""

    def __init__(self, model_of):
        self.model_of = model_of

    def bundle(self, bundle):
        need(bundle["type"] == "transaction", "the Bundle is no transaction")
        kinds = {}
        for entry in bundle["entry"]:
            url, resource = entry["fullUrl"], entry["resource"]
            need(UUID.fullmatch(url), f"not a urn:uuid: {url}")
            need(url not in kinds, f"full URL twice: {url}")
            kinds[url] = resource["resourceType"]
            self.request(entry)
        for entry in bundle["entry"]:
            self.resource(entry["resource"], kinds)
        self.plain(bundle)
        self.sums(bundle)

    def request(self, entry):
        resource, request = entry["resource"], entry["request"]
        kind = resource["resourceType"]
        need(request["method"] == "POST" and request["url"] == kind, f"request of {kind}")
        if kind not in SEARCHED:
            need("ifNoneExist" not in request, f"{kind} cannot be searched by identifier")
            return
        asked = request.get("ifNoneExist", "").removeprefix("identifier=").split("|")
        need(len(asked) == 2, f"{kind}: ifNoneExist is missing or is no identifier")
        carried = resource["identifier"]
        carried = carried if isinstance(carried, list) else [carried]
        need({"system": asked[0], "value": asked[1]} in carried, f"{kind}: ifNoneExist finds something else")
        need(asked == [SYSTEM, entry["fullUrl"]], f"{kind}: ifNoneExist is not its own name")

    def resource(self, resource, kinds):
        self.fields(self.model_of(resource["resourceType"]), resource, kinds, resource["resourceType"])
        for path, value in walk(resource, resource["resourceType"]):
            if not isinstance(value, dict):
                continue
            if "coding" in value:
                for code in value["coding"]:
                    need((code["system"], code["code"]) in CODES, f"{path}: a code nobody read: {code}")
            if set(value) == {"start", "end"}:
                need(value["start"] <= value["end"] or value["start"][19:] != value["end"][19:], f"{path}: ends before it begins")
        kind = resource["resourceType"]
        if kind == "Encounter":
            code = resource["class"]
            need((code["system"], code["code"]) in CODES, "Encounter.class: a code nobody read")
        if kind == "Consent":
            need("policy" in resource or "policyRule" in resource, "Consent: no policy (ppc-1)")
            need("patient" in resource, "Consent: nobody's")
        if kind == "Patient":
            for contact in resource.get("telecom", []):
                need("system" in contact, "Patient.telecom: no system (cpt-1)")
        if kind == "Observation":
            has = [name for name in resource if name.startswith("value")]
            need(has or resource.get("component"), "Observation: says nothing")

    def fields(self, model, value, kinds, path):
        """Closed lists of codes and kinds of target, as the library's own model has them."""
        for field in model.__fields__.values():
            inner = value.get(field.alias)
            if inner is None:
                continue
            more = field.field_info.extra
            for one in inner if isinstance(inner, list) else [inner]:
                here = f"{path}.{field.alias}"
                allowed = more.get("enum_values")
                need(not allowed or one in allowed, f"{here}: {one} is none of {allowed}")
                targets = more.get("enum_reference_types")
                if targets and "reference" in one:
                    need(one["reference"] in kinds, f"{here}: leads nowhere: {one['reference']}")
                    kind = kinds[one["reference"]]
                    need(kind in targets or "Resource" in targets, f"{here}: leads to {kind}")
                if isinstance(one, dict):
                    name = getattr(field.type_, "__resource_type__", None)
                    if name:
                        self.fields(self.model_of(name), one, kinds, here)

    def plain(self, bundle):
        for path, value in walk(bundle):
            need(value not in ("", [], {}) and value is not None, f"{path} is empty")
            name = path.rsplit(".", 1)[-1]
            if name in ("start", "end", "time", "recorded", "timestamp"):
                need(ZONED.fullmatch(value), f"{path}: no zone: {value}")
            if name in ("effectiveDateTime", "authored", "dateTime", "date"):
                need(ZONED.fullmatch(value) or DAY.fullmatch(value), f"{path}: no zone: {value}")
            if name == "reference":
                need(UUID.fullmatch(value), f"{path}: leads out of the Bundle")

    def sums(self, bundle):
        """The two sums of every visit hold among the numbers as they stand here."""
        seen = 0
        for entry in bundle["entry"]:
            resource = entry["resource"]
            if resource["resourceType"] != "Observation":
                continue
            terms = {c["code"]["text"]: c.get("valueInteger") for c in resource.get("component", [])}
            if "placed" not in terms:
                continue
            seen += 1
            out = ["still in when this was written out", "out and counted", "out, not yet counted"]
            out += ["stays in on purpose", "placed, looked for, not found"]
            out += ["left its place unseen", "stayed in on purpose, fell off unseen"]
            need(terms["placed"] == sum(terms[t] for t in out), f"placed does not add up: {terms}")
            if "opened" in terms:
                left = ["unused", "spoilt before placing", "opened, and nobody has said what became of them"]
                left += ["turned up, from no known place"]
                need(terms["opened"] == terms["placed"] + sum(terms[t] for t in left), f"opened does not add up: {terms}")
        return seen


def screening(bundle):
    """A count-only visit says that screening was not recorded here, and shows no answers of its own."""
    found = [0, 0]
    for entry in bundle["entry"]:
        if entry["resource"]["resourceType"] == "Procedure":
            notes = " ".join(n["text"] for n in entry["resource"]["note"])
            count_only = "screening was not recorded here" in notes
            need(count_only != ("Planned after screening" in notes), "a visit says nothing about its screening")
            found[count_only] += 1
    return found


def no_such(name):
    raise Wrong(f"no model of {name}")


def fhir_r4():
    from fhir.resources import construct_fhir_element, get_fhir_model_class

    return construct_fhir_element, get_fhir_model_class


def find(bundle, kind):
    return next(e for e in bundle["entry"] if e["resource"]["resourceType"] == kind)


def breaks():
    """Ways to break a good Bundle: a name, and what does it. Each must be refused by somebody."""

    def on(kind, change):
        return lambda b: change(find(b, kind)["resource"])

    def own(kind, change):
        return lambda b: change(find(b, kind))

    return {
        "required element gone": on("Procedure", lambda r: r.pop("subject")),
        "unknown member": on("Patient", lambda r: r.update(shoe="42")),
        "two values": on("Observation", lambda r: r.update(valueInteger=1, valueString="x")),
        "30 February": on("Patient", lambda r: r.update(birthDate="2027-02-30")),
        "status outside its list": on("Procedure", lambda r: r.update(status="done")),
        "status of an AdverseEvent outside its list": on("AdverseEvent", lambda r: r.update(actuality="real")),
        "reference leads nowhere": on("Procedure", lambda r: r["subject"].update(reference="urn:uuid:" + "0" * 8 + "-0000-8000-8000-" + "0" * 12)),
        "reference leads to another kind": lambda b: find(b, "Procedure")["resource"]["subject"].update(reference=find(b, "Encounter")["fullUrl"]),
        "reference leads out": on("Procedure", lambda r: r["subject"].update(reference="Patient/1")),
        "full URL twice": lambda b: b["entry"].append(copy.deepcopy(b["entry"][0])),
        "ifNoneExist finds another": own("Encounter", lambda e: e["request"].update(ifNoneExist="identifier=urn:ietf:rfc:3986|urn:uuid:x")),
        "ifNoneExist missing": own("Encounter", lambda e: e["request"].pop("ifNoneExist")),
        "ifNoneExist where R4 has no search": own("AdverseEvent", lambda e: e["request"].update(ifNoneExist="identifier=a|b")),
        "identifier gone": on("Encounter", lambda r: r["identifier"].clear()),
        "time without zone": on("Encounter", lambda r: r["period"].update(start="2027-01-15T09:10:00")),
        "ends before it begins": on("Encounter", lambda r: r["period"].update(end="1990" + r["period"]["start"][4:])),
        "empty list": on("Procedure", lambda r: r.update(note=[])),
        "empty text": on("Procedure", lambda r: r["code"].update(text="")),
        "Consent without policy": on("Consent", lambda r: r.pop("policyRule")),
        "a code nobody read": on("Procedure", lambda r: r["code"].update(coding=[{"system": "http://snomed.info/sct", "code": "44868003"}])),
        "a sum that does not hold": on("Observation", lambda r: None),
        "no Bundle of a transaction": lambda b: b.update(type="collection"),
    }


def break_sum(bundle):
    for entry in bundle["entry"]:
        for part in entry["resource"].get("component", []):
            if part["code"]["text"] == "placed":
                part["valueInteger"] += 1
                return


def check_fhir(folder, construct, own, say):
    bundles, resources, good = 0, 0, None
    kinds, screened = {}, [0, 0]
    for path in sorted(folder.glob("*.fhir")):
        lines = path.read_text(encoding="utf-8").splitlines()
        for number, line in enumerate(lines, 1):
            try:
                bundle = json.loads(line, object_pairs_hook=once)
                construct(bundle)
                if own:
                    own.bundle(bundle)
                found = screening(bundle)
            except Exception as why:
                raise Wrong(f"{path.name}:{number}: {why}") from why
            bundles += 1
            screened = [a + b for a, b in zip(screened, found)]
            for entry in bundle["entry"]:
                resources += 1
                kind = entry["resource"]["resourceType"]
                kinds[kind] = kinds.get(kind, 0) + 1
            held = {e["resource"]["resourceType"] for e in bundle["entry"]}
            if {"Consent", "AdverseEvent", "Encounter"} <= held:
                good = bundle
        say(path, f"{len(lines)} bundles")
    need(good is not None, "no Bundle here has everything that the controls break")
    caught = {"library": [], "own": []}
    missed = []
    for name, change in breaks().items():
        bad = copy.deepcopy(good)
        change(bad)
        if name == "a sum that does not hold":
            break_sum(bad)
        need(bad != good, f"the control '{name}' changes nothing")
        try:
            construct(bad)
        except Exception:
            caught["library"].append(name)
            continue
        try:
            own and own.bundle(bad)
        except (Wrong, KeyError, TypeError):
            caught["own"].append(name)
            continue
        missed.append(name)
    need(not own or not missed, f"nobody notices: {missed}")
    print(f"  {bundles} bundles, {resources} resources: " + ", ".join(f"{n} {k}" for k, n in sorted(kinds.items())))
    print(f"  {screened[0]} visits planned after screening, {screened[1]} that say it was not recorded here")
    print(f"  broken on purpose: {len(caught['library'])} refused by the library, {len(caught['own'])} by our own checks"
          + (f", {len(missed)} not asked here" if missed else ""))


# --- iCalendar -----------------------------------------------------------------------------------


def check_one_calendar(text, names, named, bookings):
    import icalendar
    from datetime import timedelta, timezone

    need(b"\r\n" in text and not re.search(rb"(?<!\r)\n|\r(?!\n)", text), "line ends are not CRLF")
    for line in text.split(b"\r\n"):
        need(len(line) <= 75, f"a line of {len(line)} octets")
        line.decode("utf-8")
    calendar = icalendar.Calendar.from_ical(text)
    need(calendar["VERSION"] == "2.0" and calendar["PRODID"], "VERSION or PRODID")
    events = list(calendar.walk("VEVENT"))
    need(events, "no event")
    uids = [str(event.get("UID", "")) for event in events]
    need(all(uids) and len(set(uids)) == len(uids), "UID missing or twice")
    for event in events:
        # The parser takes an event without these two.
        need("DTSTAMP" in event and "DTSTART" in event and "DTEND" in event, "DTSTAMP, DTSTART or DTEND missing")
        need("DURATION" not in event, "DTEND and DURATION")
        for name in ("DTSTAMP", "DTSTART", "DTEND"):
            need(event[name].dt.utcoffset() == timedelta(0), f"{name} is not in UTC")
        start, end = event["DTSTART"].dt, event["DTEND"].dt
        minutes = int((end - start).total_seconds() // 60)
        if bookings is not None:
            key = (start.astimezone(timezone.utc).strftime("%Y-%m-%d %H:%M:%S"), minutes)
            need(key in bookings, f"no such booking: {key}")
        for alarm in event.walk("VALARM"):
            need(alarm["ACTION"] == "DISPLAY" and alarm["TRIGGER"].dt <= timedelta(0), "alarm")
        summary = str(event["SUMMARY"])
        if named:
            need(any(name in " ".join(summary.split()) for name in names), f"no name, although asked for: {summary!r}")
        else:
            need(summary == "Appointment", f"says more than asked for: {summary!r}")
            need(not any(name in str(event) for name in names), "a name, although not asked for")
    again = icalendar.Calendar.from_ical(calendar.to_ical())
    need(again == calendar, "does not come back the same")
    return len(events)


def people(folder, case):
    """Names as the journal has them, with the spaces that a calendar keeps."""
    names = set()
    path = folder / f"{case}.journal"
    if path.exists():
        for line in path.read_text(encoding="utf-8").splitlines():
            entry = json.loads(line)
            if entry.get("kind") == "person.named" and entry["body"]:
                names.add(" ".join("".join(c if c.isprintable() else " " for c in entry["body"]["name"]).split()))
    return names


def check_calendars(folder, say):
    files, events, good = 0, 0, None
    for path in sorted(folder.glob("*.ics")):
        case, named = path.name.split(".")[0], path.name.endswith(".named.ics")
        text = path.read_bytes()
        bookings = None
        table = folder / f"{case}.bookings.csv"
        if table.exists():
            rows = list(csv.DictReader(io.StringIO(table.read_text(encoding="utf-8"), newline="")))
            bookings = {(row["at_utc"], int(row["minutes"])) for row in rows}
        try:
            n = check_one_calendar(text, people(folder, case), named, bookings)
        except Exception as why:
            raise Wrong(f"{path.name}: {why}") from why
        files, events, good = files + 1, events + n, good or text
        say(path, f"{n} events")
    need(good, "no calendar here")
    broken = {
        "no UID": re.sub(rb"UID:.*\r\n", b"", good),
        "no DTSTAMP": re.sub(rb"DTSTAMP:.*\r\n", b"", good),
        "floating": re.sub(rb"(DTSTART:\d{8}T\d{6})Z", rb"\1", good),
        "line ends": good.replace(b"\r\n", b"\n"),
        "a long line": good.replace(b"SUMMARY:Appointment", b"SUMMARY:" + b"x" * 80),
        "says what for": good.replace(b"SUMMARY:Appointment", b"SUMMARY:Needles"),
        "event not closed": good.replace(b"END:VEVENT\r\n", b""),
    }
    for name, text in broken.items():
        need(text != good, f"the control '{name}' changes nothing")
        try:
            check_one_calendar(text, set(), False, None)
        except Exception:
            continue
        raise Wrong(f"nobody notices: {name}")
    print(f"  {files} calendars, {events} events; {len(broken)} broken on purpose, all refused")


# --- CSV -----------------------------------------------------------------------------------------

NUMBER = re.compile(r"[+-]?[0-9]+([.][0-9]+)?")


def formula(cell):
    """Whether a spreadsheet program may run this cell: what it begins with, spaces apart."""
    begins = cell[:1] + cell.lstrip()[:1]
    return bool(set(begins) & set("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")) and not NUMBER.fullmatch(cell)


def check_one_table(path):
    raw = path.read_bytes()
    text = raw.decode("utf-8")
    need(raw.endswith(b"\r\n"), "does not end with CRLF")
    rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    need(rows and len(set(rows[0])) == len(rows[0]), "a column stands twice, or none")
    for number, row in enumerate(rows, 1):
        need(len(row) == len(rows[0]), f"row {number}: {len(row)} cells under {len(rows[0])} names")
        for cell in row:
            need(not formula(cell), f"row {number}: a formula: {cell!r}")
    # Written again by the library, only quotes may differ.
    again = io.StringIO(newline="")
    csv.writer(again).writerows(rows)
    need(list(csv.reader(io.StringIO(again.getvalue(), newline=""))) == rows, "does not come back the same")
    return rows


def check_tables(folder, say):
    files, cells, lots = 0, 0, 0
    for path in sorted(folder.glob("*.csv")):
        table = path.name.split(".")[-2]
        if table not in TABLES:
            continue
        try:
            rows = check_one_table(path)
            if table == "lots":
                at = rows[0].index("lot")
                need(all(not row[at] or row[at].startswith("'") for row in rows[1:]), "a lot that is no text")
                lots += sum(bool(row[at]) for row in rows[1:])
        except Exception as why:
            raise Wrong(f"{path.name}: {why}") from why
        files, cells = files + 1, cells + sum(map(len, rows))
        say(path, f"{len(rows) - 1} rows")
    caught = 0
    control = folder / "control.raw.csv"
    if control.exists():
        rows = list(csv.reader(io.StringIO(control.read_text(encoding="utf-8"), newline="")))
        for row in rows:
            need(any(map(formula, row)), f"the check for formulas does not see {row!r}")
            caught += 1
    print(f"  {files} tables, {cells} cells, {lots} lots as text; {caught} undefused rows flagged")


# --- JSON Schema ---------------------------------------------------------------------------------


def check_journals(folder, say):
    import jsonschema

    schema = json.loads((HERE.parent / "data" / "journal.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker())
    journals, lines = 0, 0
    for path in sorted([*folder.glob("*.journal"), *(HERE.parent / "logs").glob("*.journal")]):
        for number, line in enumerate(path.read_text(encoding="utf-8").split("\n"), 1):
            if line:
                why = next(validator.iter_errors(json.loads(line)), None)
                need(why is None, f"{path.name}:{number}: {why and why.message}")
                lines += 1
        journals += 1
    broken = 0
    control = folder / "control.lines"
    if control.exists():
        for line in control.read_text(encoding="utf-8").splitlines():
            need(not validator.is_valid(json.loads(line)), f"the schema takes a broken line: {line}")
            broken += 1
    print(f"  {journals} journals, {lines} lines are of the schema; {broken} broken lines are not")


def version(name):
    from importlib.metadata import version as of

    return f"{name} {of(name)}"


def main():
    part, folder = sys.argv[1], Path(sys.argv[2])
    began = time.monotonic()

    def say(path, words):
        total = hashlib.sha256(path.read_bytes()).hexdigest()
        if "--each" in sys.argv:
            print(f"{path.name} {total} {words}")

    try:
        if part == "r4":
            construct, model_of = fhir_r4()
            from fhir.resources import __fhir_version__ as release

            need(release == "4.0.1", f"this library models FHIR {release}")
            print(f"FHIR {release}: {version('fhir.resources')}, {version('pydantic')}, and our own checks")
            check_fhir(folder, lambda b: construct("Bundle", b), Own(model_of), say)
        else:
            from fhir.resources.R4B.bundle import Bundle

            print(f"FHIR R4B: {version('fhir.resources')}, {version('pydantic')}")
            check_fhir(folder, lambda b: Bundle.model_validate(b), None, lambda *_: None)
            print(f"iCalendar: {version('icalendar')}")
            check_calendars(folder, say)
            print("CSV: Python's csv")
            check_tables(folder, say)
            print(f"JSON Schema: {version('jsonschema')}")
            check_journals(folder, say)
    except Wrong as why:
        print(f"WRONG: {why}")
        sys.exit(1)
    print(f"{part}: all as the standards have it ({time.monotonic() - began:.0f} s)", file=sys.stderr)


if __name__ == "__main__":
    main()
