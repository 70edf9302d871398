#!/bin/sh
# The ear, measured: runs bench-ear (hear.c, which has the options) and prints its tables; the picture
# goes beside the rows. What was heard by the same build before is not heard again.
#   bench.sh BENCH_EAR BENCH_TABLE WORK_DIR [OPTION...]
# Half an hour on two free cores, a thousand answers at each level:
#   tests/speech/bench.sh build/tests/speech/bench-ear build/tests/speech/bench-table build/ear utterances=1000 jobs=2
set -eu
ear=$1
table=$2
work=$3
shift 3
mkdir -p "$work"
nice "$ear" "$work" "$@"
rows=$("$ear" "$work" rows "$@")
# shellcheck disable=SC2086 # a list of files without spaces in their names
set -- $rows
"$table" plot "$@" >"$work/ear.svg"
"$table" "$@"
echo "the picture: $work/ear.svg"
