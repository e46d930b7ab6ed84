#!/usr/bin/env bash
# install_test.sh REPOSITORY: third_party/install.sh with stand-ins for dpkg-query, apt-get, sudo and id, so that nothing is installed.
set -euo pipefail
script=$1/third_party/install.sh
box=$(mktemp -d)
trap 'find "$box" -delete' EXIT
mkdir "$box/bin"
for tool in bash sed grep dirname readlink env cat mktemp rm tail; do ln -s "$(command -v $tool)" "$box/bin/$tool"; done

failures=0
expect() { # expect WHAT CONDITION...
  local what=$1
  shift
  if ! "$@"; then
    printf 'FAILED: %s\n--- code %s, messages:\n%s\n--- calls:\n%s\n' "$what" "$code" "$messages" "$(cat "$box/calls")"
    failures=$((failures + 1))
  fi
}
stand_in() { # stand_in NAME BODY
  printf '#!/bin/bash\n%s\n' "$2" >"$box/bin/$1"
  chmod +x "$box/bin/$1"
}
run() {
  : >"$box/calls"
  code=0
  messages=$(PATH=$box/bin CALLS=$box/calls bash "$script" "$@" 2>&1 >"$box/out") || code=$?
}
says() { [[ $messages == *"$1"* ]]; }
calls() { grep -qF -- "$1" "$box/calls"; }
quiet() { [[ ! -s $box/calls ]]; }

all=$(grep -v '^#' "$1/third_party/packages.txt" | sed 's/ *|.*//')
lists() { printf 'for p in %s; do printf "ii %%s " $p; done' "$(tr '\n' ' ' <<<"$1")"; }
stand_in apt-get 'echo "apt-get $*" >>"$CALLS"; echo noise'
stand_in id 'echo 0'

stand_in dpkg-query "$(lists "$all")"
run run test
expect "all there: nothing is said" [ -z "$messages" ]
expect "all there: nothing is called" quiet
expect "all there: code 0" [ $code = 0 ]

stand_in dpkg-query "$(lists "$(grep -v -x -e liblcms2-dev -e xvfb <<<"$all")"); printf 'rc liblcms2-dev '; echo 'no xvfb' >&2; exit 1"
run run
expect "root: says which" says liblcms2-dev
expect "root: says what for" says "ICC color management"
expect "root: updates first" calls "update"
expect "root: installs" calls "install -y --no-install-recommends --no-remove liblcms2-dev"
expect "tests' packages are left alone" [ "$(grep -c xvfb "$box/calls")" = 0 ]
expect "root: code 0" [ $code = 0 ]
expect "standard output is left to the program" [ ! -s "$box/out" ]
run run test
expect "tests' packages come when asked for" calls "liblcms2-dev xvfb"

stand_in id 'echo 1000'
run run
expect "no root, no sudo: code 2" [ $code = 2 ]
expect "no root, no sudo: says what to run" says "apt-get install -y --no-install-recommends liblcms2-dev"
expect "no root, no sudo: calls nothing" quiet

stand_in sudo 'echo "sudo $*" >>"$CALLS"; "$@"'
run run
expect "sudo: is used" calls "sudo env DEBIAN_FRONTEND=noninteractive apt-get"
expect "sudo: code 0" [ $code = 0 ]

stand_in sudo 'echo "not in the sudoers file"; exit 1'
run run
expect "sudo says no: code 2" [ $code = 2 ]
expect "sudo says no: says what to run" says "apt-get install -y --no-install-recommends liblcms2-dev"

echo "$failures failures"
exit $((failures > 0))
