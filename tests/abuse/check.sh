#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# check PROGRAM   size.sh and kill.sh at a tenth of their length; `make check-abuse` runs them whole. Under valgrind
# they are left out: it has its own memory and takes too long. The sanitizers have their own memory too.
set -u
cd "$(dirname "$0")/../.."
helpers=$(dirname "${1:?which program?}")/tests/abuse
if [ -n "${WRAP:-}" ]; then
    echo "ok - absurd files and killed programs: not under ${WRAP%% *}"
    exit 0
fi
case ${VARIANT:-release} in
asan | ubsan | cov) export LOOSE=1 ;;
esac
failed=0
sh tests/abuse/size.sh "$1" "$helpers" $([ -n "${LOOSE:-}" ] && echo 1 || echo 10) || failed=1
sh tests/abuse/kill.sh "$1" "$helpers" 4 20 || failed=1
exit $failed
