#!/bin/sh
# Installs Chromium with apt where that is possible, for the tests that look at the bench's pages.
sorry() {
  echo "make test needs a browser at /usr/bin/chromium and could not install it: $1. Install Chromium, then go on." >&2
  exit 1
}
command -v apt-get >/dev/null || sorry "there is no apt-get here"
as_root=
if [ "$(id -u)" != 0 ]; then
  command -v sudo >/dev/null && sudo -n true 2>/dev/null || sorry "only root may install it"
  as_root="sudo -n"
fi
$as_root apt-get -q update && $as_root apt-get -qy install --no-install-recommends chromium || sorry "apt-get failed"
test -x /usr/bin/chromium || sorry "the package put it elsewhere"
