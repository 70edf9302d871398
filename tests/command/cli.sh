#!/bin/sh
# The program as its user meets it: exit codes, one-line errors that say what to do, nothing lost.
#   cli.sh MIDTHROW
set -u
midthrow=$1
. "$(dirname "$0")/expect.sh"

: >"$work/empty.wav"
echo words >"$work/text.wav"
mkdir "$work/none" "$work/plain"

expect 0 '' "$midthrow" --help
expect 0 '' "$midthrow" --version
expect 2 'unknown command' "$midthrow" frobnicate
expect 2 'unknown option' "$midthrow" --frobnicate
expect 2 'needs a value' "$midthrow" --data
expect 2 'generic-big-twin' "$midthrow" --data "$work/d" --profile nosuch
expect 3 'is not there' "$midthrow" --data "$work/d" --hear "$work/nosuch.wav"
expect 1 'is empty' "$midthrow" --data "$work/d" --hear "$work/empty.wav"
expect 1 'not a sound file' "$midthrow" --data "$work/d" --hear "$work/text.wav"
expect 3 'holds no .wav file' "$midthrow" --data "$work/d" --hear "$work/none"
expect 3 'MIDTHROW_SHARE' env MIDTHROW_SHARE="$work/none" "$midthrow" --data "$work/d"
expect 2 'no job is open' "$midthrow" --data "$work/d" --resume
expect 2 "no job's number" "$midthrow" --data "$work/d" --resume zero
expect 2 'lists them' "$midthrow" listen --grammar nosuch "$work/text.wav"
expect 1 'not a sound file' "$midthrow" listen --grammar distance "$work/text.wav"
expect 2 'is negative' "$midthrow" balance --forward -1in --back 5/16in
expect 2 'longer than any throw' "$midthrow" balance --forward 40in --back 5/16in
expect 2 '' "$midthrow" balance --forward 0/0in --back 5/16in
expect 2 '' "$midthrow" show 99 --data "$work/d"
expect 1 '' "$midthrow" --data "$work/text.wav/d"

# A job broken off by a kill goes on at the same question, and a second midthrow keeps out of it.
mkfifo "$work/answers"
"$midthrow" --typed --data "$work/kill" <"$work/answers" >"$work/lived" &
pid=$!
exec 3>"$work/answers"
printf '5083\nskip\nhard to find\nhot\n' >&3
for _ in 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20; do
    tail -n 3 "$work/lived" | grep -q 'With the engine off' && break
    sleep 0.1
done
expect 1 'another midthrow' "$midthrow" --data "$work/kill" --resume 1
kill -9 $pid
wait $pid 2>/dev/null
exec 3>&-
check 'after a kill the job is offered' \
    "echo 'carry on' | '$midthrow' --data '$work/kill' >'$work/resumed' &&
     grep -q 'Job 1 is open, work order 5083' '$work/resumed'"
check 'it goes on at the same question' "grep -q 'With the engine off' '$work/resumed'"
check 'both answers are kept' \
    "'$midthrow' show 1 --data '$work/kill' >'$work/shown' && grep -q 'only when hot' '$work/shown'"
check 'a new job can be had instead' \
    "printf '2\n' | '$midthrow' --data '$work/kill' >'$work/new' && grep -q 'Work order number' '$work/new'"
check 'both jobs are listed' "[ \$('$midthrow' jobs --data '$work/kill' --json | grep -c '\"work_order\"') = 2 ]"
check 'the journal is private' "[ \"\$(stat -c %a '$work/kill')\" = 700 ]"
check 'its files too' "[ -z \"\$(find '$work/kill' -type f ! -perm 600)\" ]"

# What is said can be rendered, and is sound.
check 'speech goes to a file' "echo 5083 | '$midthrow' --data '$work/say' --speak-to '$work/said.wav' >/dev/null"
check 'the file holds several seconds' "[ \$(stat -c %s '$work/said.wav') -gt 200000 ]"
expect 1 '' "$midthrow" --data "$work/say2" --new --speak-to "$work/nosuch/said.wav"
expect 2 'exclude' "$midthrow" --data "$work/say2" --mute --speak-to "$work/x.wav"

[ "$failed" = 0 ] && echo 'all as expected'
exit "$failed"
