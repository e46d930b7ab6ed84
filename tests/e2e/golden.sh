#!/usr/bin/env bash
# golden.sh PROGRAM REPOSITORY FOLDER [--renew], on a display: draws the window as each tests/e2e/golden/*.script says and holds it to the picture
# beside it, by three numbers: a pixel may be off by 0.05 of a channel; 0.3 % of all pixels may be off by more (letters are drawn a little otherwise
# by other versions of the font library); none by more than 0.6. --renew replaces the pictures instead: look at every one of them before keeping it.
set -euo pipefail
program=$(readlink -f "$1") repository=$2 folder=$3 renew=${4:-}
rm -rf "$folder"
mkdir -p "$folder"
export HOME=$folder XDG_CONFIG_HOME=$folder/config XDG_DATA_HOME=$folder/data XDG_STATE_HOME=$folder/state
cd "$repository"
bad=0
for script in tests/e2e/golden/*.script; do
  name=$(basename "$script" .script)
  options=()
  for option in $(sed -n '1s/^# //p' "$script"); do options+=("--${option%%=*}" "${option#*=}"); done
  "$program" window "${options[@]}" --script "$script" --workbook "$folder/$name.swb" --screenshot "$folder/$name.png"
  if [[ $renew == --renew ]]; then
    cp "$folder/$name.png" "tests/e2e/golden/$name.png"
  elif ! idiff -q -fail 0.05 -failpercent 0.3 -hardfail 0.6 -abs -scale 4 -od -o "$folder/$name.off.png" "tests/e2e/golden/$name.png" "$folder/$name.png"; then
    echo "$name is not as it was: see $folder/$name.png, what is off in $folder/$name.off.png; if it is meant to be so: golden.sh ... --renew"
    bad=1
  fi
done
((bad)) || echo "all pictures of the window are as they were"
exit $bad
