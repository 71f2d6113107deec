#!/usr/bin/env bash
# Builds the wheel, installs it alone in a fresh environment and runs the main job far from the source.
set -euo pipefail
python=${1:-python3}
root=$(cd "$(dirname "$0")/../.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
"$python" -m build --wheel --outdir "$work/dist" "$root" >"$work/build.log" 2>&1 || { tail -20 "$work/build.log"; exit 1; }
"$python" -m venv "$work/venv"
"$work/venv/bin/pip" install -q "$work"/dist/*.whl
cp "$root"/cases/*.yaml "$work"
cd "$work"
"$work/venv/bin/whyplan" plan four_days.yaml --for client --format html --language de --no-week --out page.html
grep -q 'lang="de"' page.html
for case in *.yaml; do
  "$work/venv/bin/whyplan" plan "$case" --no-week --format json >"$case.json" || [ $? -eq 1 ]
done
"$work/venv/bin/python" - <<'PY'
import glob, json
import assistant
assert "site-packages" in assistant.__file__, assistant.__file__
plans = [json.load(open(name)) for name in sorted(glob.glob("*.yaml.json"))]
assert len(plans) >= 8 and all(plan["sections"] for plan in plans)
print(f"wheel: {len(plans)} plans made by the installed package")
PY
