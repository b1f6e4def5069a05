#!/usr/bin/env bash
# Holds what Pinfold writes out beside libraries that are not ours (see check.py).
#
#   tests/outside/run.sh check FOLDER   checks the files in FOLDER; prints what each library says
#   tests/outside/run.sh vault FOLDER   the same for sealed files and rows (see vault.py)
#   tests/outside/run.sh golden         makes tests/golden/wire anew from tests/logs, and checks it
#
# Exit 77: skipped, because Python or the libraries cannot be had here; it says which. The libraries
# are pinned and live under ${PINFOLD_TOOLS:-target/tools}; the second run fetches nothing.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/../.."
. .ci/where

skip() {
  echo "outside checks: SKIPPED: $*" >&2
  exit 77
}

# venv NAME REQUIREMENTS: made beside its place and moved there when it is whole.
venv() {
  local place=$TOOLS/$1 list=tests/outside/$2 stamp
  stamp=stamp-$(cksum < "$list" | cut -d' ' -f1)
  [ -f "$place/$stamp" ] && return
  echo "outside checks: installing $2" >&2
  rm -rf "$place"
  # A virtual environment holds its own path, so it is made in place; the stamp says it is whole.
  { python3 -m venv "$place" && "$place/bin/pip" install --quiet --disable-pip-version-check -r "$list"; } \
    > "$TOOLS/$1.log" 2>&1 || skip "the libraries of $list cannot be installed (log: $TOOLS/$1.log)"
  touch "$place/$stamp"
}

command -v python3 > /dev/null || skip "there is no python3"
python3 -c 'import venv, ensurepip' 2> /dev/null || skip "python3 has no venv (Debian: python3-venv)"
mkdir -p "$TOOLS"
if command -v flock > /dev/null; then
  exec 9> "$TOOLS/outside.lock"
  flock 9
fi
if [ "${1:-}" = vault ]; then
  venv outside-vault requirements-vault.txt
else
  venv outside requirements.txt
  venv outside-r4 requirements-r4.txt
fi
flock -u 9 2> /dev/null || true

check() {
  # Two libraries of one name do not live in one process; they run side by side.
  local code=0 other each=${2:-}
  "$TOOLS/outside-r4/bin/python" tests/outside/check.py r4 "$1" $each > "$1/r4.verdict" &
  other=$!
  "$TOOLS/outside/bin/python" tests/outside/check.py rest "$1" $each > "$1/rest.verdict" || code=1
  wait "$other" || code=1
  cat "$1/r4.verdict" "$1/rest.verdict"
  return $code
}

case ${1:-} in
  check) check "${2:?which folder}" ;;
  vault) "$TOOLS/outside-vault/bin/python" tests/outside/vault.py "${2:?which folder}" ;;
  golden)
    cargo build --quiet -p pinfold-core --example export
    place=tests/golden/wire export=${CARGO_TARGET_DIR:-target}/debug/examples/export
    rm -rf "$place" && mkdir -p "$place"
    for log in tests/logs/*.journal; do
      name=$place/$(basename "$log" .journal)
      "$export" fhir < "$log" > "$name.fhir"
      "$export" fhir-person < "$log" > "$name.person.fhir"
      "$export" calendar < "$log" > "$name.ics"
      for table in visits regions needles lots cream answers scores bookings; do
        "$export" csv "$table" < "$log" > "$name.$table.csv"
      done
    done
    find "$place" -empty -delete
    check "$place" --each > tests/golden/wire.verdict
    rm "$place"/*.verdict
    ;;
  *) echo "usage: tests/outside/run.sh check FOLDER | vault FOLDER | golden" >&2; exit 2 ;;
esac
