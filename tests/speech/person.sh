#!/bin/sh
# All of the person's prompts that answer nothing (asterisk-core-sounds-en-g722), against a grammar:
# how many are taken for an answer. A few minutes a grammar.
#   person.sh BUILD_DIR GRAMMAR
set -eu
grammars=$(cd "$(dirname "$0")" && pwd)/../../grammars
for file in /usr/share/asterisk/sounds/*/*.g722; do
    printf '%s\t%s\t-\n' "$file" "$2"
done | "$1/tests/speech/bench-speech" "$grammars"
