#!/bin/sh
# The demo, by ear from its recordings: what must be heard, doubted, thrown out and corrected in it.
#   demo.sh MIDTHROW
set -u
midthrow=$1
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
"$midthrow" demo --data "$work/data" --speak-to "$work/said.wav" >"$work/out" 2>"$work/err"
code=$?
failed=0
if [ "$code" != 0 ]; then
    echo "the demo failed with $code:"
    cat "$work/err"
    failed=1
fi

seen() {
    if ! grep -q -- "$2" "$work/out"; then
        echo "not in the demo: $1"
        failed=1
    fi
}

seen 'chatter or a cough thrown out' 'ear .* rejected'
seen 'say again' '> say again'
seen 'a value misheard' '> thirty one sixty fourths of an inch .*accepted'
seen 'read back and taken back' 'Taken back: thirty one sixty fourths'
seen 'the value as it was said' '> twenty one sixty fourths of an inch .*accepted'
seen 'the first adjusting round' 'Adjusting round 1'
seen 'the second' 'Adjusting round 2'
seen 'even' 'to [0-9]*: even, probability'
seen 'cautions confirmed' 'CONFIRMED adjusting.engine_off'
seen 'the transcript' '======== transcript'
seen 'the write-up' 'Confirmed: shifter pawl out of centre'
seen 'the end' 'Closed as fixed'
if grep -q 'Adjusting round 3' "$work/out"; then
    echo 'a third adjusting round was needed'
    failed=1
fi
# by ear: what was said is sound, some minutes of it
bytes=$(stat -c %s "$work/said.wav")
[ "$bytes" -gt 5000000 ] || { echo "only $bytes bytes were spoken"; failed=1; }
[ "$failed" = 0 ] && echo 'all as expected'
exit "$failed"
