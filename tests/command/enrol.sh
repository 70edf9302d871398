#!/bin/sh
# midthrow enrol by recordings of a voice: what is learned is kept and used, and what cannot be learned
# leaves what was there.
#   enrol.sh MIDTHROW SOURCE
set -u
midthrow=$1
source=$2
command -v flite >/dev/null || { echo 'flite is not installed: nobody can read aloud'; exit 77; }
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
failed=0

# expect CODE 'words of the output' argument...
expect() {
    code=$1 words=$2
    shift 2
    "$midthrow" "$@" >"$work/out" 2>"$work/err" </dev/null
    got=$?
    if [ "$got" != "$code" ] || ! grep -q -e "$words" "$work/out" "$work/err"; then
        echo "FAILED: $* gave $got, wanted $code and '$words':"
        tail -n 5 "$work/out" "$work/err"
        failed=1
    fi
}

read_aloud() { flite -voice slt -t "$2" -o "$1"; }

# The sentences in the grammar's order.
mkdir "$work/read" "$work/few" "$work/stop"
number=10
sed -n '/<sentence> =/,$s/^[^a-z]*\(sentence> = \)\{0,1\}\([a-z ]*\);\{0,1\}$/\2/p' \
    "$source/grammars/enrol.gram" >"$work/sentences"
while read -r sentence; do
    read_aloud "$work/read/$number.wav" "$sentence"
    number=$((number + 1))
done <"$work/sentences"
[ "$number" = 30 ] || { echo "FAILED: $((number - 10)) sentences, wanted 20"; failed=1; }
cp "$work/read/10.wav" "$work/read/11.wav" "$work/few"
cp "$work/read/10.wav" "$work/stop"
read_aloud "$work/stop/11.wav" 'stop'
read_aloud "$work/said.wav" 'niner four point zero six millimetres'

data=$work/data
expect 2 'cannot name a voice' enrol '../nobody' --data "$data"
expect 2 'cannot name a voice' enrol 'two words' --data "$data"
expect 2 'say whose voice' enrol --data "$data"
expect 2 'say whose voice' enrol Ann --list
expect 2 'say whose voice' enrol --forget
expect 0 'Nobody has enrolled' enrol --list --data "$data"
expect 3 "nobody called 'Ann' has enrolled (nobody has)" enrol --forget Ann --data "$data"
expect 3 "nobody called 'Ann'" --person Ann --typed --data "$data"
expect 3 'nobody listens' enrol Ann --typed --data "$data"
expect 1 'only 2 sentences were heard.*Nothing was kept' enrol Ann --data "$data" --hear "$work/few"
expect 1 'nothing was kept' enrol Ann --data "$data" --hear "$work/stop"
expect 0 'Nobody has enrolled' enrol --list --data "$data"

expect 0 "Ann's voice is known now, by 20 sentences" enrol Ann --data "$data" --hear "$work/read"
expect 0 '^Ann$' enrol --list --data "$data"
expect 3 "nobody called 'Bob' has enrolled (Ann)" --person Bob --typed --data "$data"
[ "$(stat -c %a "$data/voices/Ann.voice")" = 600 ] || { echo 'FAILED: others may read it'; failed=1; }
[ "$(find "$data" -name '*.wav' -o -name '*.flac' | wc -l)" = 0 ] || { echo 'FAILED: sound was kept'; failed=1; }
expect 0 '"mm":94.06' listen --grammar millimetres --json "$work/said.wav"
cp "$work/out" "$work/nobody"
expect 0 '"mm":94.06,"verdict":"accepted"' listen --grammar millimetres --json --person Ann --data "$data" "$work/said.wav"
score() { sed 's/.*"score":\([0-9.]*\).*/\1/' "$1"; }
if ! awk "BEGIN { exit !($(score "$work/out") > $(score "$work/nobody")) }"; then
    echo "FAILED: known, the voice scores $(score "$work/out"), unknown $(score "$work/nobody")"
    failed=1
fi

# What is there stays when a second reading fails; a file of another kind is said to be none.
cp "$data/voices/Ann.voice" "$work/before"
expect 1 'Nothing was kept' enrol Ann --data "$data" --hear "$work/few"
cmp -s "$data/voices/Ann.voice" "$work/before" || { echo 'FAILED: what was learned is gone'; failed=1; }
head -c 4000 "$work/before" >"$data/voices/Ann.voice"
expect 1 'damaged' listen --grammar millimetres --person Ann --data "$data" "$work/said.wav"
sed 's/^network=.*/network=00000000/' "$work/before" >"$data/voices/Ann.voice"
expect 1 'another midthrow' --person Ann --typed --data "$data"
expect 0 'is erased' enrol --forget Ann --data "$data"
expect 0 'Nobody has enrolled' enrol --list --data "$data"

[ "$failed" = 0 ] && echo 'all as expected'
exit "$failed"
