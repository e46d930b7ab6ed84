#!/usr/bin/env bash
# install.sh BUILD REPOSITORY FOLDER, on a display: installs, moves what was installed, and uses it there: the main job, the window, the manual page, the
# completion, the desktop's files.
set -euo pipefail
build=$1 repository=$2 folder=$3
rm -rf "$folder"
mkdir -p "$folder"
fail() {
  echo "install: $1"
  exit 1
}
cmake --install "$build" --prefix "$folder/first" >"$folder/install.log"
mv "$folder/first" "$folder/moved"
export HOME=$folder XDG_CONFIG_HOME=$folder/config XDG_DATA_HOME=$folder/data XDG_STATE_HOME=$folder/state
cd "$folder"
program=$folder/moved/bin/swatchwright share=$folder/moved/share
"$program" demo >demo.txt || fail "the demo does not run where it was moved to"
grep -q "$share/swatchwright/demo" demo.txt || fail "the demo's photos are not those that came along"
"$program" window --screenshot window.png --size 1280x720 --demo "$share/swatchwright/demo" || fail "the window does not open"
[[ -s window.png ]] || fail "the window left no picture"
if grep -qs "$repository" "$share/man/man1/swatchwright.1" "$share/bash-completion/completions/swatchwright"; then fail "paths of this machine in what is installed"; fi
grep -q '^.SS measure' "$share/man/man1/swatchwright.1" || fail "the manual page lacks a command"
source "$share/bash-completion/completions/swatchwright"
complete_words() {
  COMP_WORDS=("$@") COMP_CWORD=$(($# - 1)) COMPREPLY=()
  _swatchwright
  echo "${COMPREPLY[*]}"
}
[[ $(complete_words swatchwright mea) == measure ]] || fail "commands are not completed"
[[ $(complete_words swatchwright measure --gr) == --gray ]] || fail "options are not completed"
[[ $(complete_words swatchwright target sh) == show ]] || fail "actions are not completed"
xmllint --noout "$share/mime/packages/swatchwright.xml" "$share/icons/hicolor/scalable/apps/swatchwright.svg" || fail "XML"
desktop-file-validate "$share/applications/swatchwright.desktop" || fail "the desktop entry"
echo "installed, moved, used"
