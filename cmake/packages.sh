# shellcheck shell=bash
# need_packages FILE...: installs the Debian packages listed in the files that are not there yet. Sourced by ./run and ./test.
need_packages() {
  local list missing=() name
  list=$(cat "$@" | sed 's/#.*//' | tr -s ' ' '\n' | sed '/^$/d')
  for name in $list; do
    [ "$(dpkg-query -W -f '${db:Status-Abbrev}' "$name" 2>/dev/null | cut -c1-2)" = ii ] || missing+=("$name")
  done
  [ ${#missing[@]} -eq 0 ] && return 0
  echo "Installing: ${missing[*]}" >&2
  local as_root=()
  if [ "$(id -u)" -ne 0 ]; then
    command -v sudo >/dev/null || { echo "These packages are missing and neither root nor sudo is at hand: ${missing[*]}" >&2; return 1; }
    as_root=(sudo)
  fi
  "${as_root[@]}" apt-get update -qq
  "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
}
