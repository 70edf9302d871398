#!/bin/sh
# Makes recordings, measures their signs, fits the score's weights. Some ten minutes on a free machine.
#   fit.sh BUILD_DIR WORK_DIR [VOICE...]
# Prints a table for src/speech/verdict_table.h. The one in there came from a run of this script with
# its voices kal16 awb espeak:en-us, before sentences and recogniser took their present form: a run
# today hears a little differently and need not print the same digits; a new table is to be judged by
# noise.sh, person.sh and the tests before it replaces the old. Keep slt rms kal espeak:en-gb and
# the person's recordings for reporting.
set -eu
build=$(cd "$1" && pwd)
work=$2
shift 2
[ $# -gt 0 ] || set -- kal16 awb espeak:en-us
here=$(cd "$(dirname "$0")" && pwd)
grammars=$here/../../grammars
mkdir -p "$work"
list=$work/list.tsv
: >"$list"
seed=0
for voice in "$@"; do
    seed=$((seed + 1))
    name=$(echo "$voice" | tr ':+' '__')
    for grammar in distance number yesno turn caution; do
        case $grammar in distance) count=60 ;; number) count=40 ;; *) count=20 ;; esac
        "$build/tests/speech/sample-grammar" "$grammars/$grammar.gram" $count $seed | sort -u |
            awk '{ printf "%d\t%s\n", NR, $0 }' >"$work/said"
        while IFS="$(printf '\t')" read -r number words; do
            file=$work/$name-$grammar-$number.wav
            "$here/voices.sh" "$voice" "$file" "$words" 2>"$work/voice.log"
            printf '%s\t%s\t%s\n' "$file" "$grammar" "$words" >>"$list"
        done <"$work/said"
    done
    number=0
    while read -r words; do
        number=$((number + 1))
        file=$work/$name-chatter-$number.wav
        "$here/voices.sh" "$voice" "$file" "$words" 2>"$work/voice.log"
        for shift in 0 2; do
            grammar=$(echo distance number yesno turn caution | cut -d' ' -f$(((number + shift) % 5 + 1)))
            printf '%s\t%s\t-\n' "$file" "$grammar" >>"$list"
        done
    done <"$here/chatter.txt"
done
"$build/tests/speech/bench-speech" "$grammars" signs <"$list" >"$work/signs"
grep -v '	-$' "$list" | awk 'NR % 3 == 0' |
    "$build/tests/speech/bench-speech" "$grammars" signs snr=20 >>"$work/signs"
"$build/tests/speech/fit-verdict" <"$work/signs"
