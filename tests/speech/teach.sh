#!/bin/sh
# Teaches the network of src/speech/enhance.h: prints its weights.
#   teach.sh BUILD_DIR WORK_DIR [UTTERANCES] > src/speech/enhance_table.c
# What is gathered is kept in WORK_DIR. Afterwards the verdict is to be fitted again (fit.sh). Needs
# python3-torch and python3-numpy; the same build prints the same digits. Two processes, some twenty
# minutes.
set -eu
build=$1
work=$2
utterances=${3:-2900}
half=$((utterances / 2))
mkdir -p "$work"
nice "$build/tests/speech/gather-parallel" "$work/0.f32" 0 "$half" &
nice "$build/tests/speech/gather-parallel" "$work/1.f32" "$half" "$utterances"
wait $!
nice "$(dirname "$0")/teach_enhance.py" "$work/0.f32" "$work/1.f32"
