#!/usr/bin/env bash
# check_format.sh CLANG_FORMAT REPOSITORY: every source is laid out as .clang-format says. Exit code 77: not this version's business.
set -euo pipefail
if ! "$1" --version 2>/dev/null | grep -q 'version 14\.'; then
  echo "skipped: clang-format 14 is not here"
  exit 77
fi
cd "$2"
find src tests \( -name '*.cpp' -o -name '*.hpp' \) -print0 | sort -z | xargs -0 "$1" --dry-run -Werror
