#!/bin/sh
# Says sentences with Debian's flite and eSpeak NG voices, one WAV each, for the bench and the tests.
#   voices.sh VOICE OUTPUT.wav SENTENCE...
# VOICE is a flite voice (kal kal16 awb rms slt) or espeak:NAME (espeak:en-us, espeak:en-gb+f3 ...).
set -eu
voice=$1
out=$2
shift 2
case $voice in
espeak:*) espeak-ng -v "${voice#espeak:}" -s 160 -w "$out" "$*" ;;
*) flite -voice "$voice" -t "$*" -o "$out" ;;
esac
