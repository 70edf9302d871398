#!/bin/sh
# The program answered by a number pad as a device: recorded input events through a FIFO, by the same
# code as from the kernel; unplugged in the middle and plugged in again.
#   pad_device.sh MIDTHROW PLAY
set -u
midthrow=$1
play=$2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
failed=0

check() {
    if ! eval "$2"; then
        echo "FAILED: $1"
        failed=1
    fi
}
wait_for() {
    for _ in 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20 21 22 23 24 25 26 27 28 29 30; do
        grep -q "$1" "$work/out" && return
        sleep 0.1
    done
    echo "FAILED: '$1' never came"
    failed=1
}

mkfifo "$work/pad"
"$midthrow" --pad-device "$work/pad" --new --profile generic-big-twin --data "$work/data" \
    >"$work/out" 2>&1 </dev/null &
pid=$!
# exec would wait for ever if midthrow never opened the other end
timeout 10 sh -c ": >'$work/pad'" || { echo 'FAILED: the pad was never opened'; kill $pid; exit 1; }
exec 3>"$work/pad"
"$play" '5083
' >&3
wait_for 'Odometer'
rm "$work/pad" # unplugged; a number half typed stays
exec 3>&-
mkfifo "$work/pad"
"$play" '..
1
--
2
' >"$work/keys"
timeout 10 sh -c "cat '$work/keys' >'$work/pad'"
for _ in 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20 21 22 23 24 25 26 27 28 29 30; do
    kill -0 $pid 2>/dev/null || break
    sleep 0.1
done
check 'it leaves when told to' "! kill -0 $pid 2>/dev/null"
kill $pid 2>/dev/null
wait $pid
check 'its exit code is 0' "[ $? = 0 ]"
check 'the work order is kept' "'$midthrow' jobs --data '$work/data' --json | grep -q '\"work_order\": *\"5083\"'"
check 'the keys are in the transcript' "'$midthrow' show 1 --transcript --data '$work/data' | grep -q '5083'"

"$midthrow" --foot pedal --data "$work/data" >"$work/out" 2>"$work/err" </dev/null
check 'a foot switch without a use is refused' "[ $? = 2 ] && grep -q 'NAME=enter' '$work/err'"
[ "$failed" = 0 ] && echo 'all as expected'
exit "$failed"
