#!/bin/sh
# midthrow enrol by recordings of a voice: what is learned is kept and used, and what cannot be learned
# leaves what was there.
#   enrol.sh MIDTHROW SOURCE
set -u
midthrow=$1
source=$2
command -v flite >/dev/null || { echo 'flite is not installed: nobody can read aloud'; exit 77; }
. "$(dirname "$0")/expect.sh"
data=$work/data

read_aloud() { flite -voice slt -t "$2" -o "$1"; }
enrol() { expect "$1" "$2" "$midthrow" enrol "$3" --data "$data" --hear "$work/$4"; }
hear() { expect "$1" "$2" "$midthrow" listen --grammar millimetres --json --person Ann --data "$data" "$work/said.wav"; }
known() {
    expect 0 '' "$midthrow" enrol --list --data "$data"
    check "$1 has enrolled" "[ \"\$(cat '$work/out')\" = '$1' ]"
}
score() { sed 's/.*"score":\([0-9.]*\).*/\1/' "$1"; }

# The sentences in the grammar's order.
mkdir "$work/read" "$work/few" "$work/stop"
number=10
sed -n '/<sentence> =/,$s/^[^a-z]*\(sentence> = \)\{0,1\}\([a-z ]*\);\{0,1\}$/\2/p' \
    "$source/grammars/enrol.gram" >"$work/sentences"
while read -r sentence; do
    read_aloud "$work/read/$number.wav" "$sentence"
    number=$((number + 1))
done <"$work/sentences"
check 'there are twenty sentences' "[ $number = 30 ]"
cp "$work/read/10.wav" "$work/read/11.wav" "$work/few"
cp "$work/read/10.wav" "$work/stop"
read_aloud "$work/stop/11.wav" 'stop'
read_aloud "$work/said.wav" 'niner four point zero six millimetres'

expect 2 'cannot name a voice' "$midthrow" enrol ../nobody --data "$data"
expect 2 'cannot name a voice' "$midthrow" enrol 'two words' --data "$data"
expect 2 'say whose voice' "$midthrow" enrol --data "$data"
expect 2 'say whose voice' "$midthrow" enrol Ann --list
expect 2 'say whose voice' "$midthrow" enrol --forget
known 'Nobody has enrolled.'
expect 3 "nobody called 'Ann' has enrolled (nobody has)" "$midthrow" enrol --forget Ann --data "$data"
expect 3 "nobody called 'Ann'" "$midthrow" --person Ann --typed --data "$data"
expect 3 'nobody listens' "$midthrow" enrol Ann --typed --data "$data"
enrol 1 'only 2 sentences were heard.*Nothing was kept' Ann few
enrol 1 'nothing was kept' Ann stop
known 'Nobody has enrolled.'

enrol 0 '' Ann read
check 'it says so' "grep -q \"Ann's voice is known now, by 20 sentences\" '$work/out'"
known Ann
expect 3 "nobody called 'Bob' has enrolled (Ann)" "$midthrow" --person Bob --typed --data "$data"
check 'nobody else may read it' "[ \"\$(stat -c %a '$data/voices/Ann.voice')\" = 600 ]"
check 'no sound was kept' "[ -z \"\$(find '$data' -name '*.wav' -o -name '*.flac')\" ]"
expect 0 '' "$midthrow" listen --grammar millimetres --json "$work/said.wav"
cp "$work/out" "$work/unknown"
hear 0 ''
check 'it is heard right' "grep -q '\"mm\":94.06,\"verdict\":\"accepted\"' '$work/out'"
check "known, it scores $(score "$work/out"), more than unknown, $(score "$work/unknown")" \
    "awk 'BEGIN { exit !($(score "$work/out") > $(score "$work/unknown")) }'"

# What is there stays when a second reading fails; a file of another kind is said to be none.
cp "$data/voices/Ann.voice" "$work/before"
enrol 1 'Nothing was kept' Ann few
check 'what was learned is there still' "cmp -s '$data/voices/Ann.voice' '$work/before'"
head -c 4000 "$work/before" >"$data/voices/Ann.voice"
hear 1 'damaged'
sed 's/^network=.*/network=00000000/' "$work/before" >"$data/voices/Ann.voice"
hear 1 'another midthrow'
expect 0 '' "$midthrow" enrol --forget Ann --data "$data"
known 'Nobody has enrolled.'

[ "$failed" = 0 ] && echo 'all as expected'
exit "$failed"
