#!/usr/bin/env bash
# walk.sh PROGRAM REPOSITORY FOLDER, on a display: does the README's walk in the window at three sizes, and looks at what is left: a picture of the right size
# each time, and the target in the workbook. Also: a damaged photo is a message, not an end; no display is said so.
set -euo pipefail
program=$1 repository=$2 folder=$3
rm -rf "$folder"
mkdir -p "$folder"

export HOME=$folder XDG_CONFIG_HOME=$folder/config XDG_DATA_HOME=$folder/data
cd "$repository"
for shape in "1280x720 1" "1600x1000 1" "2560x1440 2"; do
  read -r size scale <<<"$shape"
  "$program" window --demo assets/demo --script tests/e2e/walk.script --workbook "$folder/$size.swb" \
    --size "$size" --scale "$scale" --screenshot "$folder/$size.png"
  dimensions=$(od -An -tu4 --endian=big -j16 -N8 "$folder/$size.png" | tr -s ' ' | sed 's/^ //')
  [[ $dimensions == "${size/x/ }" ]] || { echo "picture is $dimensions, not $size"; exit 1; }
  "$program" target list --workbook "$folder/$size.swb" | grep -q "Damson 14" || { echo "the target is not in the workbook"; exit 1; }
done
sed "s|FOLDER|$folder|" tests/e2e/workbook.script >"$folder/workbook.script"
"$program" window --demo assets/demo --script "$folder/workbook.script" --workbook "$folder/book.swb" --size 1600x1000 --screenshot "$folder/book.png"
for file in build.pdf labels.pdf card.pdf; do
  [[ $(head -c 5 "$folder/$file") == "%PDF-" ]] || { echo "$file is no PDF"; exit 1; }
done
[[ -s $folder/all.json && -s $folder/colors.zip ]] || { echo "nothing was exported"; exit 1; }
"$program" find "Moss 7" --workbook "$folder/book.swb" | grep -q "Moss 7" || { echo "what was undone in the window is not undone"; exit 1; }
"$program" part list --workbook "$folder/book.swb" | grep -q "brake wheel" || { echo "the parts are not in the workbook"; exit 1; }
"$program" workbook verify --workbook "$folder/book.swb" >"$folder/verify.txt" || { echo "what the window kept cannot be read again"; cat "$folder/verify.txt"; exit 1; }
# A fault leaves a report with nothing private in it, which is told of once, and the work comes back.
export XDG_STATE_HOME=$folder/state
"$program" window assets/demo/bench_led_chart.jpg --workbook "$folder/book.swb" --size 1280x720 2>"$folder/fault.err" &
window=$!
for _ in $(seq 100); do
  sleep 0.2
  grep -qs "bench_led_chart" "$folder/state/swatchwright/session.script" && break
done
kill -SEGV $window
wait $window 2>/dev/null && { echo "a fault was swallowed"; exit 1; }
report=$folder/state/swatchwright/fault.txt
grep -q "signal 11" "$report" && grep -q "^+0x" "$report" || { echo "no report of a fault"; exit 1; }
if grep -qE "bench|/" "$report"; then echo "the report tells of the work"; exit 1; fi
printf 'not a picture' >"$folder/bad.jpg"
code=0
"$program" window "$folder/bad.jpg" --screenshot "$folder/bad.png" 2>"$folder/bad.txt" || code=$?
[[ $code == 3 || -s $folder/bad.png ]] || { echo "a damaged photo ended with $code"; exit 1; }
code=0
env -u DISPLAY -u WAYLAND_DISPLAY "$program" window 2>"$folder/none.txt" || code=$?
[[ $code != 0 ]] && grep -qi "display" "$folder/none.txt" || { echo "no display: code $code"; cat "$folder/none.txt"; exit 1; }
echo "walk done"
