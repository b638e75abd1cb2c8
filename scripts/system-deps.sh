#!/usr/bin/env bash
# What some tests compare with (a circuit simulator, a browser, CC0 guitar recordings, a PostgreSQL server) and what PDF
# needs. Installs what is missing where it
# may (Debian or Ubuntu, as root or with a sudo that asks nothing); elsewhere it says what is missing and goes
# on: the tests that need it are skipped, with the reason.
set -u
missing=()
command -v ngspice >/dev/null || missing+=(ngspice)
command -v chromium >/dev/null || missing+=(chromium)
ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1 || command -v initdb >/dev/null || missing+=(postgresql)
[ -d /usr/share/sonic-pi/samples ] || missing+=(sonic-pi-samples)
ls /usr/lib/*/libatomic.so.1 >/dev/null 2>&1 || missing+=(libatomic1)
ls /usr/lib/*/libpangoft2-1.0.so.0 >/dev/null 2>&1 || missing+=(libpangoft2-1.0-0)
ls /usr/lib/*/libharfbuzz-subset.so.0 >/dev/null 2>&1 || missing+=(libharfbuzz-subset0)
[ ${#missing[@]} -eq 0 ] && exit 0

as_root=()
if [ "$(id -u)" -ne 0 ]; then
  sudo -n true 2>/dev/null && as_root=(sudo) || as_root=(false)
fi
if command -v apt-get >/dev/null && [ "${as_root[0]:-}" != false ]; then
  echo "installing: ${missing[*]}"
  "${as_root[@]}" apt-get update -qq
  "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive \
    apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null && exit 0
fi
echo "not installed: ${missing[*]} (Debian: apt-get install ${missing[*]}); tests that need them are skipped." >&2
exit 0
