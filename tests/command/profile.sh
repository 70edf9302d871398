#!/bin/sh
# midthrow profile, as its user meets it: a profile made by words, by number pad and by recordings;
# killed and gone on with; refused, checked, listed, shown and used.
#   profile.sh MIDTHROW RECORDINGS
set -u
midthrow=$1
recordings=$2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
failed=0
data=$work/data

expect() {
    code=$1 words=$2
    shift 2
    "$@" >"$work/out" 2>"$work/err" </dev/null
    got=$?
    if [ "$got" != "$code" ] || { [ -n "$words" ] && ! grep -q -e "$words" "$work/out" "$work/err"; }; then
        echo "FAILED: $* gave $got, wanted $code and '$words':"
        cat "$work/out" "$work/err"
        failed=1
    fi
}
check() {
    if ! eval "$2"; then
        echo "FAILED: $1"
        failed=1
    fi
}
skips() {
    for _ in 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20 21 22 23 24 25 26 27 28 29 30 31 32 33; do
        echo "$1"
    done
}

# By words. What is refused is asked again; "wrong" takes the last answer back.
{
    printf '6-42\nit is a screw\n28\n1.5\nclockwise moves it forward\n1/4 in\n1/8\nwrong\n1/16\n1\n'
    printf '11/16 in\n900 nm\n18 ft-lb\n1/32 in\n3\nit has a cable\n1/8 in\n1/16 in\n3/16 in\n'
    skips skip
} >"$work/answers"
"$midthrow" profile new twin --title 'The twin' --data "$data" --plain <"$work/answers" >"$work/out"
own=$data/profiles/twin.ini
check 'it ends well' "grep -q 'Written: .*twin.ini' '$work/out'"
check 'it is asked for again' "[ \$(grep -c 'How tight is the lock nut' '$work/out') = 2 ]"
check 'the page is the source' "grep -qx 'source = service manual, page 6-42' '$own'"
check 'threads make the pitch' "grep -qx 'pitch = 1/28 in' '$own'"
check 'what was taken back is gone' "grep -qx 'increment = 0.0625' '$own'"
check 'foot pounds are newton metres' "grep -q 'torque_nm = 24.40472' '$own'"
check 'limits upside down are not taken' "grep -qx 'free_play_high = 3/16 in' '$own'"
check 'what was skipped is unknown' "grep -qx 'low_rpm = unknown' '$own'"
check 'it is private' "[ \"\$(stat -c %a '$own')\" = 600 ]"
check 'no draft is left' "[ -z \"\$(find '$data/profiles' -name '.*')\" ]"
expect 0 'twin.ini: good, 14 numbers' "$midthrow" profile check twin --data "$data"

# Not over what is there, unless told.
before=$(cat "$own")
expect 2 'already' "$midthrow" profile new twin --data "$data"
expect 2 'already' "$midthrow" profile new generic-big-twin --data "$data"
check 'it stays as it was' "[ \"\$(cat '$own')\" = \"\$before\" ]"
expect 2 'name the profile' "$midthrow" profile new --data "$data"
expect 2 'name the profile' "$midthrow" profile new ../evil --data "$data"
expect 2 'needs a text' "$midthrow" profile new x --title
expect 2 'unknown option' "$midthrow" profile new x --frobnicate --data "$data"

# By number pad, and killed in the middle: nothing that was answered is lost.
mkfifo "$work/keys"
"$midthrow" profile new pad --pad --data "$data" <"$work/keys" >"$work/out" &
pid=$!
exec 3>"$work/keys"
printf '6-42\n2\n1/16\n..\n2\n1/4\n1/8\n' >&3
for _ in 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20; do
    grep -q 'all adjustments' "$work/out" && break
    sleep 0.1
done
kill -9 $pid
wait $pid 2>/dev/null
exec 3>&-
check 'it is no profile yet' "[ ! -e '$data/profiles/pad.ini' ]"
check 'the draft is private' "[ \"\$(stat -c %a '$data/profiles/.pad.draft')\" = 600 ]"
skips .. | "$midthrow" profile new pad --pad --data "$data" >"$work/out"
check 'it goes on at the same question' \
    "grep -A9 'We go on where we were: 5 numbers' '$work/out' | grep -q 'all adjustments'"
check 'what was answered is kept' "grep -qx 'throw = 1/16 in' '$data/profiles/pad.ini'"
check 'an eccentric has no pitch' "! grep -q '^pitch' '$data/profiles/pad.ini'"
check 'so is the sense' "grep -qx 'sense = clockwise back' '$data/profiles/pad.ini'"
check 'a draft that makes no sense is begun anew' \
    "echo nonsense >'$data/profiles/.odd.draft'; skips skip | '$midthrow' profile new odd --data '$data' --plain | grep -q 'Done: 0 numbers'"

# By ear: skip this one thrice, a quarter of an inch; then the recordings end and the draft is kept.
expect 0 'How much may one adjustment' "$midthrow" profile new heard --data "$data" \
    --hear "$recordings"/*-skip-this-one.wav "$recordings"/002-skip-this-one.wav "$recordings"/*-one-quarter-of-an-inch.wav
check 'it was heard' "grep -q 'One quarter of an inch' '$work/out'"

# Check, list and show, as text and as JSON.
printf '[bike]\ntitle = X\nsource = Y\n[stem]\nincrement = 1/8\ntotal = 1/9\n[pawl]\ngear = 7\n' >"$work/bad.ini"
expect 1 'line 6: the increment is more than the total' "$midthrow" profile check "$work/bad.ini"
expect 1 'line 8: gear in' "$midthrow" profile check "$work/bad.ini"
expect 1 '"line": 8' "$midthrow" profile check "$work/bad.ini" --json
expect 0 '"good": true' "$midthrow" profile check --json --data "$data"
expect 2 'there is no profile' "$midthrow" profile check nosuch --data "$data"
expect 3 'there is no file' "$midthrow" profile check "$work/nosuch.ini"
expect 0 'The twin (14 numbers; service manual, page 6-42)' "$midthrow" profile list --data "$data"
expect 0 'low_rpm = unknown' "$midthrow" profile show twin --data "$data"
expect 0 '"mm": 0.907' "$midthrow" profile show twin --json --data "$data"
expect 2 'which one' "$midthrow" profile show --data "$data"
expect 2 'write: midthrow profile' "$midthrow" profile
check 'the JSON is JSON' "'$midthrow' profile list --json --data '$data' | python3 -m json.tool >/dev/null"

# A job takes it.
echo 5083 | "$midthrow" --profile twin --data "$data" --plain >"$work/out"
check 'a job takes it' "grep -q 'Profile The twin. Numbers from service manual, page 6-42' '$work/out'"

[ "$failed" = 0 ] && echo 'all as expected'
exit "$failed"
