#!/bin/sh
# Build durable_rules with address and undefined-behaviour checks and run random cases on it.
#
# Usage: tests/sanitizer/run.sh [cases]      (500 by default)
# PYTHON names the interpreter (default: python3); it must have this project's dependencies.
# Exit codes: 0 clean or skipped (a line says which), 1 a finding.
set -eu

cases=${1:-500}
python=${PYTHON:-python3}
here=$(CDPATH= cd -- "$(dirname -- "$0")" && pwd)
root=$(CDPATH= cd -- "$here/../.." && pwd)
release=2.0.28

skip() {
    echo "sanitizer run skipped: $1"
    exit 0
}

command -v gcc >/dev/null 2>&1 || skip "gcc is not installed"
"$python" -c 'import durable_rules_engine' 2>/dev/null ||
    skip "$python has no durable_rules"
headers=$("$python" -c 'import sysconfig; print(sysconfig.get_paths()["include"])')
[ -f "$headers/Python.h" ] || skip "the Python headers are not installed"
libasan=$(gcc -print-file-name=libasan.so)
[ -f "$libasan" ] || skip "gcc has no address sanitizer library"

build=$(mktemp -d)
trap 'rm -rf "$build"' EXIT
"$python" -m pip download --quiet --no-deps --no-binary durable_rules \
    --dest "$build" "durable_rules==$release" || skip "the source of durable_rules cannot be had"
tar -xzf "$build/durable_rules-$release.tar.gz" -C "$build"
source="$build/durable_rules-$release/src"
suffix=$("$python" -c 'import sysconfig; print(sysconfig.get_config_var("EXT_SUFFIX"))')
# -w: the warnings are about the library's own code. Newer Pythons dropped the renamed call.
gcc -g -O1 -fno-omit-frame-pointer -fsanitize=address,undefined -shared -fPIC -w -std=gnu99 \
    -DPyEval_CallObject=PyObject_CallObject -I"$headers" -I"$source/rules" \
    "$source"/rules/*.c "$source/rulespy/rules.c" -o "$build/durable_rules_engine$suffix"

# Python itself never frees everything at exit, so leaks are counted by the memory tests instead.
LD_PRELOAD="$libasan" \
    ASAN_OPTIONS=detect_leaks=0:abort_on_error=0:exitcode=1 \
    UBSAN_OPTIONS=print_stacktrace=1:halt_on_error=1 \
    PYTHONPATH="$build:$root:$root/tests/engine" \
    "$python" "$here/cases.py" "$cases" "$build"
