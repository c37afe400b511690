#!/usr/bin/env bash
# clang-tidy over the compile commands of the release build. Only files changed since REV when called with one.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
if [ $# -gt 0 ]; then
  files=$(git diff --name-only --diff-filter=d "$1" -- 'src/*.cpp' 'apps/*.cpp')
else
  files=$(git ls-files 'src/*.cpp' 'apps/*.cpp' | grep -v '_test\.cpp$')
fi
[ -n "$files" ] || exit 0
status=0
said=$(printf '%s\n' "$files" | xargs -P "$(nproc)" -n 2 clang-tidy -p build/release --quiet --extra-arg=-Wno-unknown-warning-option 2>&1) || status=$?
# -quiet still prints "N warnings generated" for each file; only real findings are let through.
printf '%s\n' "$said" | grep -v 'warnings\? generated\.$' || true
exit "$status"
