#!/bin/sh
# jobs, history, shop, learn, export, import and forget as their user meets them: exit codes, one-line
# errors, jobs moved between two stations, a rider's name gone from every file.
#   past.sh MIDTHROW
set -u
midthrow=$1
. "$(dirname "$0")/expect.sh"

# A job in which all is skipped, and the likeliest cause confirmed as cured: pad entries.
short_job() {
    {
        printf '4713\n12345\n1\n'
        for _ in 1 2 3 4 5 6 7 8 9 10 11 12; do echo ..; done
        printf '3\n1\n1\n' # hand the job over; cured; that was it
    } | "$midthrow" --pad --new --data "$@" >"$work/said"
}

here=$work/here there=$work/there
expect 0 '' "$midthrow" jobs --data "$here"
expect 0 '' "$midthrow" shop --data "$here"
expect 0 '' "$midthrow" learn --data "$here"
check 'looking back makes nothing' "[ ! -e '$here' ]"
expect 3 'no jobs to export' "$midthrow" export --data "$here"
expect 3 'cannot read' "$midthrow" import "$work/nosuch" --data "$here"
expect 2 'no name for a bike' "$midthrow" --bike '' --data "$here"
expect 2 'takes a name' "$midthrow" --rider '' --data "$here"
expect 2 'when a job is started' "$midthrow" --bike 7 --resume --data "$here"

short_job "$here" --bike 'ab 12  cd' --rider 'Somebody Invented'
check 'the short job is closed as fixed' "grep -q 'Closed as fixed' '$work/said'"
short_job "$here" --bike 'AB 12 CD'

# ---- looking back
check 'the bike and the rider are listed' \
    "'$midthrow' jobs --data '$here' | grep -q 'bike AB 12 CD  rider Somebody Invented'"
check 'the rider is under the write-up' \
    "'$midthrow' show 1 --data '$here' | grep -q 'Rider: Somebody Invented'"
check 'filters narrow the list' "'$midthrow' jobs --open --data '$here' | grep -q 'no such jobs'"
check 'a cause finds its jobs' \
    "[ \$('$midthrow' jobs --cause free_play --json --data '$here' | grep -c '\"job\"') = 2 ]"
check 'the future is empty' \
    "[ \"\$('$midthrow' jobs --since 2999-01-01 --json --data '$here')\" = '[]' ]"
check 'a bike has its history, however it is typed' \
    "'$midthrow' history ' ab 12 cd' --data '$here' | grep -q 'Bike AB 12 CD: 2 jobs'"
check 'the shop counts its cures' \
    "'$midthrow' shop --data '$here' | grep -q 'clutch free play wrong.* 100.0 %.*  2\$'"
expect 0 '' "$midthrow" shop --svg "$work/shop.svg" --data "$here"
check 'the picture is one' "head -c 5 '$work/shop.svg' | grep -q '<svg ' && tail -n 1 '$work/shop.svg' | grep -q '</svg>'"
check 'no part of it is left' "[ \"\$(ls '$work' | grep -c shop.svg)\" = 1 ]"
expect 0 '' "$midthrow" history 'AB 12 CD' --svg "$work/bike.svg" --data "$here"
expect 1 'cannot write' "$midthrow" shop --svg "$work/nosuch/shop.svg" --data "$here"
expect 2 'no date' "$midthrow" jobs --since yesterday --data "$here"
expect 2 'no cause: there are pawl' "$midthrow" jobs --cause moon --data "$here"
expect 2 'exclude' "$midthrow" jobs --open --closed --data "$here"
expect 2 'not one of midthrow shop' "$midthrow" shop --cause pawl --data "$here"
expect 2 'from 1 to' "$midthrow" shop --comeback 0 --data "$here"
expect 2 'no job on a bike' "$midthrow" history 'AB 13 CD' --data "$here"
expect 2 'say which bike' "$midthrow" history --data "$here"

# ---- learning
check 'a new job starts from what was learned' \
    "'$midthrow' export 2 --data '$here' | sed -n 3p | grep -q '\"priors\":{\"pawl\"'"
check 'the first had nothing to learn from' \
    "! '$midthrow' export 1 --data '$here' | grep -q priors"
check 'what was learned is shown' \
    "'$midthrow' learn --data '$here' | grep -q 'Fixed jobs with a confirmed cause: 2'"
expect 0 '' "$midthrow" learn export -o "$work/learning.ini" --data "$here"
check 'and can be taken along' \
    "mkdir -p '$work/new' && cp '$work/learning.ini' '$work/new' && short_job '$work/new' &&
     '$midthrow' learn --data '$work/new' | grep -q 'started from learning.ini, worth 32 jobs'"
expect 0 '' "$midthrow" learn forget --data "$here"
check 'and forgotten' "'$midthrow' learn --data '$here' | grep -q 'Fixed jobs with a confirmed cause: 0'"
echo '[causes]
pawl = none' >"$work/new/learning.ini"
expect 2 'learning.ini:2' "$midthrow" --new --data "$work/new"
expect 2 'show, export or forget' "$midthrow" learn everything --data "$here"

# ---- moving
expect 0 '' "$midthrow" export -o "$work/jobs.jsonl" --data "$here"
expect 0 '' "$midthrow" import "$work/jobs.jsonl" --data "$there"
check 'all came in' "grep -q '^2 added' '$work/out'"
check 'the same comes out again' "'$midthrow' export --data '$there' | cmp -s - '$work/jobs.jsonl'"
expect 0 '' "$midthrow" import "$work/jobs.jsonl" --data "$there"
check 'but not twice' "grep -q ' 2 were here already' '$work/out'"
check 'the write-up is the same' \
    "'$midthrow' show 2 --data '$here' >'$work/a' && '$midthrow' show 2 --data '$there' | cmp -s - '$work/a'"
sed 's/four seven one three/four seven one four/' "$work/jobs.jsonl" >"$work/other.jsonl"
expect 1 'in conflict' "$midthrow" import "$work/other.jsonl" --data "$there"
check 'both versions are shown' \
    "grep -q 'here .*events' '$work/out' && grep -q 'the file .*events' '$work/out' && grep -q 'part at event 2' '$work/out'"
check 'neither won' "'$midthrow' export --data '$there' | cmp -s - '$work/jobs.jsonl'"
expect 0 '' "$midthrow" import --keep-both "$work/other.jsonl" --data "$there"
check 'both are kept' "[ \$('$midthrow' jobs --json --data '$there' | grep -c '\"job\"') = 4 ]"
head -n 4 "$work/jobs.jsonl" >"$work/cut.jsonl"
expect 1 'line 5: it ends here' "$midthrow" import "$work/cut.jsonl" --data "$work/cut"
expect 2 'no job 9' "$midthrow" export 9 --data "$here"
expect 2 "no job's number" "$midthrow" export one --data "$here"
expect 2 'say which file' "$midthrow" import --data "$here"
expect 1 'line 1' "$midthrow" import "$work/shop.svg" --data "$here"
expect 1 'cannot read' "$midthrow" import "$work" --data "$here"

# ---- forgetting
check 'the name is in the files before' "grep -rq 'Somebody' '$here'"
check 'but never went along' "! grep -rq 'Somebody' '$there' '$work/jobs.jsonl'"
expect 2 'whose name' "$midthrow" forget --data "$here"
expect 2 'whose name' "$midthrow" forget 1 --all --data "$here"
expect 2 'no job 9' "$midthrow" forget 9 --data "$here"
expect 0 '' "$midthrow" forget 1 --data "$here"
check 'it says so' "grep -q '1 rider' '$work/out'"
check 'the name is in no file any more' "! grep -rq 'Somebody' '$here'"
check 'the job stays' "'$midthrow' show 1 --data '$here' | grep -q 'free play'"
expect 0 '' "$midthrow" forget --all --data "$here"

[ "$failed" = 0 ] && echo 'all as expected'
exit "$failed"
