#!/usr/bin/env bash
# third_party/install.sh run [test]: installs what third_party/packages.txt names for these purposes and is not there yet.
# Says what and why first. All messages go to standard error. Exit code 2: something is missing and cannot be installed from here.
set -euo pipefail
list=$(dirname "$(readlink -f "${BASH_SOURCE[0]}")")/packages.txt

packages=() reasons=()
while IFS='|' read -r package why purpose; do
  package=${package//[[:space:]]/} purpose=${purpose//[[:space:]]/}
  [[ -n $package && $package != \#* && " $* " == *" $purpose "* ]] || continue
  packages+=("$package") reasons+=("$why")
done < <(grep -v '^#' "$list")

if ! command -v dpkg-query >/dev/null; then
  echo "swatchwright: this is not a Debian system, so nothing is installed for you. Needed (Debian's names): ${packages[*]}" >&2
  exit 0
fi

# One call for all; packages that were never there make it complain, which is no failure.
installed=" $(dpkg-query -W -f '${db:Status-Abbrev}${Package} ' "${packages[@]}" 2>/dev/null || true)"
missing=()
for i in "${!packages[@]}"; do
  if [[ $installed != *" ii ${packages[i]} "* && $installed != *" hi ${packages[i]} "* ]]; then
    ((${#missing[@]})) || echo "swatchwright: these Debian packages are missing and will be installed with apt:" >&2
    printf '  %-20s%s\n' "${packages[i]}" "${reasons[i]}" >&2
    missing+=("${packages[i]}")
  fi
done
((${#missing[@]})) || exit 0

install="apt-get install -y --no-install-recommends ${missing[*]}"
give_up() {
  printf 'swatchwright: %s\nLet somebody with administrator rights run:\n  apt-get update\n  %s\nthen call this again.\n' "$1" "$install" >&2
  exit 2
}
if (($(id -u) == 0)); then
  as_root=()
elif command -v sudo >/dev/null; then
  as_root=(sudo)
else
  give_up "installing needs administrator rights, and you are neither root nor is sudo here."
fi
apt=("${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get -q -o DPkg::Lock::Timeout=300)
log=$(mktemp)
trap 'rm -f "$log"' EXIT
echo "swatchwright: installing (some minutes the first time)" >&2
# apt has much to say; it is shown where something went wrong.
"${apt[@]}" update >"$log" 2>&1 || { cat "$log" >&2; give_up "apt-get update did not succeed (see above)."; }
"${apt[@]}" install -y --no-install-recommends --no-remove "${missing[@]}" >"$log" 2>&1 || {
  tail -n 40 "$log" >&2
  give_up "apt-get install did not succeed (see above)."
}
