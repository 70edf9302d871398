#!/bin/sh
# A shop's own judgement: used by a new job, kept with it, refused with its line.
#   reason.sh MIDTHROW
set -u
midthrow=$1
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
data=$work/data
mkdir -p "$data"
failed=0

complain() {
    echo "$1"
    failed=1
}

# six answers, then the input ends
answers() {
    printf '4712\n..\n1\n1\n2\n' | "$midthrow" --new --data "$data" "$@"
}

answers >"$work/out" 2>&1 || complain "a job without a file: $(cat "$work/out")"
"$midthrow" why 1 --json --data "$data" >"$work/table.json"

printf '[prior]\nidle = 500\n[temperature]\nidle = .98 .01 .01\n' >"$data/reason.ini"
answers >"$work/out" 2>&1 || complain "a job with reason.ini: $(cat "$work/out")"
"$midthrow" why 2 --json --data "$data" >"$work/shop.json"
"$midthrow" why 2 --data "$data" | sed -n 3p | grep -q 'idle too high' ||
    complain 'the shop put idle first, the ranking did not'

# what is changed later changes neither job
printf '[prior]\nhook = 900\n' >"$data/reason.ini"
"$midthrow" why 1 --json --data "$data" | cmp -s - "$work/table.json" || complain 'job 1 changed'
"$midthrow" why 2 --json --data "$data" | cmp -s - "$work/shop.json" || complain 'job 2 changed'

# a file that was named goes before the one in the data directory
printf '[prior]\nfluid_old = 700\n' >"$work/mine.ini"
answers --reason "$work/mine.ini" >"$work/out" 2>&1 || complain "--reason: $(cat "$work/out")"
"$midthrow" why 3 --data "$data" | sed -n 3p | grep -q 'old primary fluid' ||
    complain '--reason was not used'

printf '[prior]\nidel = 3\n' >"$work/bad.ini"
answers --reason "$work/bad.ini" >"$work/out" 2>"$work/err"
[ "$?" = 1 ] || complain 'a bad file is not refused with 1'
grep -q "line 2: 'idel' in \[prior\] is no cause: did you mean 'idle'?" "$work/err" ||
    complain "a bad file says: $(cat "$work/err")"
[ "$("$midthrow" jobs --data "$data" | grep -c 4712)" = 3 ] || complain 'a bad file began a job'
answers --reason "$work/none.ini" >"$work/out" 2>"$work/err" && complain 'a file that is not there'
[ "$failed" = 0 ] && echo 'all as expected'
exit "$failed"
