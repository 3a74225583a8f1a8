#!/usr/bin/env bash
# Times the live bench in a browser beside the program, in one run: 12 aircraft inspected, from the texts handed over until the findings
# are back, beside the whole time of `walkaround inspect`; and a movement of a stick to the last pixel.
#
#   benches/page.sh
#
# Needs what .ci/install-outside-tools installs, and the page that page/build builds. The exit status is 1 when a limit of docs/page.md
# that must be kept is passed.
set -eu
. "$(dirname "$0")/common.sh" python3 chromium
page=$PWD/page/built/walkaround.html
[ -f "$page" ] || { echo "page.sh: $page is missing: page/build builds it" >&2; exit 1; }
PROGRAM=$program RELEASE=$program PAGE=$page FLEETS=$PWD/testdata/fleets SCRATCH=$work PYTHONDONTWRITEBYTECODE=1 \
    python3 tests/outside/page.py figures
