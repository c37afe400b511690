# shellcheck shell=bash
# Sourced by ./run and ./test.

# need_packages FILE...: installs the Debian packages listed in the files that are not there yet.
need_packages() {
  local list missing=() name
  list=$(cat "$@" | sed 's/#.*//' | tr -s ' ' '\n' | sed '/^$/d')
  # A Node from elsewhere does as well as Debian's, and must not be replaced by it.
  command -v node >/dev/null && command -v npm >/dev/null && list=$(printf '%s\n' "$list" | grep -vxE 'nodejs|npm')
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

# build_page: web/dist/ from web/ and the forms of what it asks, when something in there is newer. Sets up the packages of its lock file first.
build_page() {
  local log
  if [ ! -f web/dist/index.html ] || [ -n "$(find web data/schemas src/http/schemas -path web/node_modules -prune -o -path web/dist -prune -o -path web/tests -prune -o -type f -newer web/dist/index.html -print -quit)" ]; then
    log=$(
      cd web
      { [ node_modules/.package-lock.json -nt package-lock.json ] || npm ci; } 2>&1 && npm run build 2>&1
    ) || { printf '%s\n' "$log" >&2; return 1; }
    touch web/dist/index.html
  fi
}
