#!/usr/bin/env bash
# Every case, a plan, the rules and the questions as FHIR against the R4 (4.0.1) definitions that the npm package `fhir` carries, and every
# unit against the UCUM tables of `@lhncbc/ucum-lhc`: validators that share nothing with the tests.
# Usage: second_validator.sh PYTHON. Needs node and npm; says so and passes where they are missing.
set -euo pipefail
python=$1
root=$(cd "$(dirname "$0")/../.." && pwd)
command -v npm >/dev/null 2>&1 || { echo "no npm on this machine: the second validator is left out"; exit 0; }
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
(cd "$work" && npm init -y >/dev/null && npm install --silent --no-audit --no-fund fhir@4.12.0 @lhncbc/ucum-lhc@7.1.10)
cat >"$work/validate.js" <<'JS'
const { Fhir } = require("fhir");
const { readFileSync } = require("fs");
const errors = (text) =>
  new Fhir().validate(text, { errorOnUnexpected: true }).messages.filter((m) => m.severity === "error");
const ucum = require("@lhncbc/ucum-lhc").UcumLhcUtils.getInstance();
const isUnit = (code) => ucum.validateUnitString(code, false).status === "valid";
const units = new Set();
const collect = (node) => {
  if (!node || typeof node !== "object") return;
  if (node.system === "http://unitsofmeasure.org") units.add(node.code);
  Object.values(node).forEach(collect);
};
let wrong = 0;
for (const path of process.argv.slice(2)) {
  const text = readFileSync(path, "utf8");
  for (const message of errors(text)) {
    wrong += 1;
    console.log(`${path}: ${message.location}: ${message.message}`);
  }
  // The same file with one status spoilt must be refused, or the validator looks at nothing.
  if (errors(text.replace(/"status": "[a-z-]+"/g, '"status": "finished"')).length === 0) {
    wrong += 1;
    console.log(`${path}: a spoilt status was not noticed`);
  }
}
for (const path of process.argv.slice(2)) collect(JSON.parse(readFileSync(path, "utf8")));
const strange = [...units].filter((code) => !isUnit(code));
if (strange.length || isUnit("kgs")) {
  wrong += 1;
  console.log(`units that are not UCUM: ${strange.join(", ") || "kgs was not noticed"}`);
}
console.log(`${process.argv.length - 2} files, ${units.size} units, ${wrong} faults`);
process.exit(wrong ? 1 : 0);
JS
cd "$root"
mkdir "$work/cases"
for case in cases/*.yaml; do
  PYTHONPATH=. "$python" -m assistant.cli.main exchange export "$case" --to fhir --with-name \
    --out "$work/cases/$(basename "$case" .yaml).json" 2>/dev/null
done
case=cases/two_short_evenings.yaml
PYTHONPATH=. "$python" -m assistant.cli.main exchange rules --out "$work/cases/the_rules.json"
for what in plan questions; do
  PYTHONPATH=. "$python" -m assistant.cli.main exchange export "$case" --to fhir --what $what \
    --out "$work/cases/the_$what.json" 2>/dev/null
done
node "$work/validate.js" "$work"/cases/*.json
