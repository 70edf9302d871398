#!/bin/sh
# Teaches one of the networks of src/speech: prints its weights.
#   teach.sh BUILD_DIR WORK_DIR phonetic [UTTERANCES] > src/speech/phonetic_table.c
#   teach.sh BUILD_DIR WORK_DIR enhance [UTTERANCES] > src/speech/enhance_table.c
# What is gathered is kept in WORK_DIR. Afterwards the verdict is to be fitted again (fit.sh). Needs
# Debian's python3-torch and python3-numpy, and for `phonetic` festvox-kdlpc16k and, from its non-free
# part, rhvoice, rhvoice-english and libttspico-utils (free licences, but nobody can make their data
# anew). Two processes, three quarters of an hour.
set -eu
build=$1
work=$2
network=$3
case $network in
phonetic) gather=gather-sounds utterances=${4:-6000} ;;
enhance) gather=gather-parallel utterances=${4:-2900} ;;
*) echo "there is no network '$network': phonetic or enhance" >&2 && exit 2 ;;
esac
half=$((utterances / 2))
mkdir -p "$work"
nice "$build/tests/speech/$gather" "$work/$network.0.f32" 0 "$half" &
nice "$build/tests/speech/$gather" "$work/$network.1.f32" "$half" "$utterances"
wait $!
nice "$(dirname "$0")/teach_$network.py" "$work/$network.0.f32" "$work/$network.1.f32"
