#!/usr/bin/env bash
# Installs as README says, by uv and by pipx as a command of its own and by uv in a checkout, and runs both engines.
# Usage: tests/wheel/tools.sh PYTHON...
set -euo pipefail
root=$(cd "$(dirname "$0")/../.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
git clone -q "$root" "$work/copy" 2>/dev/null || cp -r "$root" "$work/copy"
"$1" -m venv "$work/tools"
"$work/tools/bin/pip" install -q uv pipx
PATH="$work/tools/bin:$PATH"
flag=$(sed -n 's/^durable-rules = { CPPFLAGS = "\(.*\)" }$/\1/p' "$root/pyproject.toml")
export UV_PYTHON_DOWNLOADS=never UV_CACHE_DIR="$work/cache" UV_TOOL_DIR="$work/uv" UV_TOOL_BIN_DIR="$work/uv/bin"
export PIPX_HOME="$work/pipx" PIPX_BIN_DIR="$work/pipx/bin" PIPX_DEFAULT_BACKEND=pip

both() { "$2" plan "$work/copy/cases/four_days.yaml" --no-week --engine both >/dev/null; echo "$1: both engines agree"; }

cd "$work/copy"
for python; do
  version=$("$python" -c 'import sys; print("%d.%d" % sys.version_info[:2])')
  CPPFLAGS=$flag uv tool install -q --force --python "$python" '.[durable]'
  both "$version, uv tool install" "$work/uv/bin/whyplan"
  CPPFLAGS=$flag PIP_NO_CACHE_DIR=1 pipx install --quiet --force --python "$python" "$work/copy[durable]"
  both "$version, pipx install" "$work/pipx/bin/whyplan"
  uv sync -q --python "$python" --extra durable
  both "$version, uv sync" .venv/bin/whyplan
done
