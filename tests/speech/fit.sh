#!/bin/sh
# Makes the recordings the verdict is fitted on, measures their signs, fits. Some ten minutes.
#   fit.sh BUILD_DIR WORK_DIR [VOICE...]
# The voices the table was fitted on are kal16 awb espeak:en-us; keep slt rms kal espeak:en-gb, the
# asterisk recordings and any person for reporting. Prints the table for src/speech/verdict_table.h.
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
