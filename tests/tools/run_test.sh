#!/usr/bin/env bash
# run_test.sh REPOSITORY: ./run in a small repository with a stand-in for cmake, whose "program" prints its folder and arguments.
set -euo pipefail
box=$(mktemp -d)
trap 'find "$box" -delete' EXIT
mkdir -p "$box/house/src" "$box/house/third_party" "$box/house/assets/demo" "$box/house/cmake" "$box/bin" "$box/elsewhere"
cp "$1/run" "$box/house/run"
printf '#!/bin/bash\n' >"$box/house/third_party/install.sh"
echo one >"$box/house/src/a.cpp"
touch "$box/house/CMakeLists.txt" "$box/house/CMakePresets.json"
cat >"$box/bin/cmake" <<'CMAKE'
#!/bin/bash
echo "cmake $*"
echo "$*" >>"$BOX/calls"
[[ ! -e $BOX/broken ]] || exit 1
mkdir -p "$BOX/house/build/release/src"
if [[ $1 == --preset ]]; then
  echo "CMAKE_HOME_DIRECTORY:INTERNAL=$BOX/house" >"$BOX/house/build/release/CMakeCache.txt"
  touch "$BOX/house/build/release/build.ninja"
else
  printf '#!/bin/bash\nprintf "%%s|" "$PWD" "$@"\nexit 7\n' >"$BOX/house/build/release/src/swatchwright"
  chmod +x "$BOX/house/build/release/src/swatchwright"
fi
CMAKE
chmod +x "$box/bin/cmake"

failures=0
call() { # call ARGUMENTS...: from another folder; out, said, code, built
  : >"$box/calls"
  code=0
  out=$(cd "$box/elsewhere" && BOX=$box PATH=$box/bin:$PATH bash "$box/house/run" "$@" 2>"$box/said") || code=$?
  said=$(cat "$box/said")
  built=$(grep -c -- --build "$box/calls" || true)
}
expect() {
  local what=$1
  shift
  if ! "$@"; then
    printf 'FAILED: %s\n  out: %s\n  said: %s\n  code: %s, built: %s\n' "$what" "$out" "$said" "$code" "$built"
    failures=$((failures + 1))
  fi
}

call measure "my photo.jpg" --json
expect "the first call builds" [ "$built" = 1 ]
expect "the first call leaves the tests out" grep -q BUILD_TESTING=OFF "$box/calls"
expect "arguments and folder are the caller's; standard output is the program's alone" [ "$out" = "$box/elsewhere|measure|my photo.jpg|--json|" ]
expect "messages go to standard error" grep -q cmake "$box/said"
expect "the exit code is the program's" [ $code = 7 ]
call measure
expect "nothing changed: not built again" [ "$built" = 0 ]
expect "nothing changed: nothing said" [ -z "$said" ]
call
expect "no arguments: the window on the demo" [ "$out" = "$box/elsewhere|window|--demo|$box/house/assets/demo|" ]
call --headless --json
expect "--headless: the job on the demo" [ "$out" = "$box/elsewhere|demo|--folder|$box/house/assets/demo|--json|" ]
echo two >"$box/house/src/a.cpp"
call light
expect "a changed source is noticed" [ "$built" = 1 ]
expect "a known build folder keeps its settings" [ "$(grep -c BUILD_TESTING "$box/calls" || true)" = 0 ]
echo three >"$box/house/src/b.cpp"
call light
expect "an added source is noticed" [ "$built" = 1 ]
rm "$box/house/src/b.cpp"
call light
expect "a removed source is noticed" [ "$built" = 1 ]
touch -d '2001-01-01' "$box/house/src/a.cpp"
call light
expect "an older source is noticed" [ "$built" = 1 ]
rm "$box/house/build/release/src/swatchwright"
call light
expect "a missing program is built" [ "$built" = 1 ]
ln -s "$box/house/run" "$box/elsewhere/go"
: >"$box/calls"
code=0
out=$(cd "$box/elsewhere" && BOX=$box PATH=$box/bin:$PATH ./go light 2>"$box/said") || code=$?
expect "a link to it works" [ "$out" = "$box/elsewhere|light|" ]
echo four >"$box/house/src/a.cpp"
touch "$box/broken"
call light
expect "a build that fails: code 5" [ $code = 5 ]
expect "a build that fails: says so" grep -q "could not be built" "$box/said"
rm "$box/broken"
call light
expect "and is tried again" [ "$built" = 1 ]

echo "$failures failures"
exit $((failures > 0))
