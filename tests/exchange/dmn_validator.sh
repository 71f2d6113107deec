#!/usr/bin/env bash
# Every decision table read by dmn-moddle and evaluated by feelin, libraries that share nothing with the
# tests' own reader, against what our engine concluded of invented people.
# Usage: dmn_validator.sh PYTHON [PEOPLE]. Needs node and npm; says so and passes where they are missing.
set -euo pipefail
python=$1 people=${2:-300}
root=$(cd "$(dirname "$0")/../.." && pwd)
command -v npm >/dev/null 2>&1 || { echo "no npm on this machine: the tables are read by the tests alone"; exit 0; }
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
(cd "$work" && npm init -y >/dev/null && npm install --silent --no-audit --no-fund feelin@8.2.0 dmn-moddle@12.2.1)
(cd "$root" && PYTHONPATH=. "$python" tests/exchange/dmn_people.py "$work" "$people")
cat >"$work/evaluate.mjs" <<'JS'
import { DmnModdle } from "dmn-moddle";
import { evaluate, unaryTest } from "feelin";
import { createReadStream, readFileSync } from "fs";
import { createInterface } from "readline";
const { rootElement, warnings } = await new DmnModdle().fromXML(readFileSync("all.dmn", "utf8"));
if (warnings.length) throw new Error(warnings[0].message);
const tables = new Map();
for (const each of rootElement.drgElement) if (each.decisionLogic) tables.set(each.name, each.decisionLogic);
const known = new Map();
const once = (key, make) => {
  if (!known.has(key)) known.set(key, make());
  return known.get(key);
};
const plain = (value) => JSON.stringify(value, (_, v) => (v && v.constructor === Object
  ? Object.fromEntries(Object.entries(v).sort()) : v));
const said = (text, context) => evaluate(text, context).value;
const holds = (text, context) => text === "-" || unaryTest(text, context).value === true;
const hitsOf = (table, context) => {
  const have = table.input.map((each) => said(each.inputExpression.text, context));
  return table.rule.filter((rule) => rule.inputEntry.every((entry, n) => {
    const key = entry.text + "\0" + plain(have[n]) + (/\b[a-z]+_|\bday\b/.test(entry.text.replace(/"[^"]*"/g, "")) ? plain(context) : "");
    return once(key, () => holds(entry.text, { ...context, "?": have[n] }));
  }));
};
const valueOf = (table, hits, context) => {
  const names = table.output.map((each) => each.name);
  const values = hits.map((rule) => {
    const found = rule.outputEntry.map((each) => said(each.text, context));
    return found.length === 1 ? found[0] : Object.fromEntries(found.map((value, n) => [names[n], value]));
  });
  const policy = table.hitPolicy ?? "UNIQUE";
  if (policy === "COLLECT" && !table.aggregation) return [...new Set(values)].sort();
  if (policy === "COLLECT") return values.length ? Math[table.aggregation.toLowerCase()](...values) : null;
  if (policy === "UNIQUE" && values.length > 1) return "more than one row";
  if (policy === "ANY" && new Set(values.map(plain)).size > 1) return "rows differ";
  const ranks = policy === "PRIORITY" ? table.output[0].outputValues.text : "";
  return values.sort((a, b) => policy === "PRIORITY" ? ranks.indexOf(`"${a}"`) - ranks.indexOf(`"${b}"`) : 0)[0] ?? null;
};
let asked = 0, fired = 0, wrong = 0;
const noticed = new Set();
for await (const line of createInterface({ input: createReadStream("people.jsonl") })) {
  const [name, context, rules, value] = JSON.parse(line);
  const table = tables.get(name);
  const hits = hitsOf(table, context);
  const ids = [...new Set(hits.map((rule) => rule.annotationEntry[0].text))].sort();
  const found = valueOf(table, hits, context);
  asked += 1;
  fired += ids.length;
  ids.forEach((id) => noticed.add(id));
  if (plain(ids) !== plain(rules) || plain(found) !== plain(value)) {
    wrong += 1;
    if (wrong < 10) console.log(name, plain(context), "book", plain(rules), plain(value), "table", plain(ids), plain(found));
  }
}
console.log(`${tables.size} tables asked ${asked} times, ${fired} rows held, ${noticed.size} different ones, ${wrong} faults`);
process.exit(wrong || !fired ? 1 : 0);
JS
(cd "$work" && node evaluate.mjs)
