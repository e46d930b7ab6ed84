#!/usr/bin/env bash
# newcomer.sh PROGRAM REPOSITORY FOLDER, on a display: from the empty window to a kept target and a kept verdict with real mouse and keys, counted.
# What a modeler would ask at each step, and where the answer stands, is the checklist in DEVELOPERS.md; the pictures of the steps are left in FOLDER.
set -euo pipefail
program=$1 repository=$2 folder=$3
rm -rf "$folder"
mkdir -p "$folder/config/swatchwright"
export HOME=$folder XDG_CONFIG_HOME=$folder/config XDG_DATA_HOME=$folder/data XDG_STATE_HOME=$folder/state
echo '{"version": 1, "hint_done": true}' >"$folder/config/swatchwright/settings.json" # without it the demo would open by itself
cd "$repository"
"$program" window --size 1280x720 --workbook "$folder/book.swb" 2>"$folder/window.err" &
window=$!
trap 'kill $window 2>/dev/null || true' EXIT
clicks=0

fail() {
  echo "newcomer: $1"
  cat "$folder/window.err"
  exit 1
}
picture() { import -window root -crop 1280x720+0+0 "$folder/$1.png"; }
click() { # X Y
  xdotool mousemove "$1" "$2" sleep 0.3 mousedown 1 sleep 0.2 mouseup 1 sleep 0.3
  clicks=$((clicks + 1))
}
drag() { # X Y X Y
  xdotool mousemove "$1" "$2" sleep 0.3 mousedown 1 sleep 0.2 mousemove $((($1 + $3) / 2)) $((($2 + $4) / 2)) sleep 0.2 mousemove "$3" "$4" sleep 0.2 mouseup 1 sleep 0.3
  clicks=$((clicks + 1))
}
until_session_has() { # TEXT: the window keeps its session once what was done has been drawn
  for _ in $(seq 150); do
    grep -qs -- "$1" "$folder/state/swatchwright/session.script" && return
    sleep 0.2
  done
  picture stuck
  fail "no \"$1\" came of it: see $folder/stuck.png"
}

for _ in $(seq 100); do
  sleep 0.2
  id=$(xdotool search --onlyvisible --name '^Swatchwright$' 2>/dev/null | head -1) && [[ -n $id ]] && break
done
[[ -n ${id:-} ]] || fail "no window"
xdotool windowmove "$id" 0 0 windowfocus "$id"
sleep 1
picture 1_empty
click 112 91 # the field of step 1
xdotool type --delay 20 "assets/demo/bench_led_chart.jpg"
xdotool key Return
until_session_has "^open "
picture 2_photo
drag 690 203 810 293 # the gray card, whose tool is at hand
until_session_has "^gray "
picture 3_white
drag 456 428 537 502 # the chip
until_session_has "^chip "
picture 4_chip
drag 571 422 650 506 # the swatch
until_session_has "^swatch "
sleep 3
picture 5_verdict
click 150 617 # step 5
sleep 0.5
picture 6_keep
xdotool key k sleep 0.5 key ctrl+a sleep 0.2
xdotool type --delay 20 "Damson 14"
xdotool key Return sleep 1
picture 7_kept
xdotool key Escape sleep 0.3 key r sleep 0.5
xdotool type --delay 20 "mix 1, pot B"
xdotool key Return sleep 1
picture 8_read
kill $window
wait $window 2>/dev/null || true
trap - EXIT
"$program" target list --workbook "$folder/book.swb" | grep -q "Damson 14" || fail "the target was not kept"
"$program" reading list --workbook "$folder/book.swb" | grep -q "mix 1, pot B" || fail "the verdict was not kept"
echo "newcomer path: $clicks clicks and drags (goal: at most 15)"
((clicks <= 15))
