#!/bin/sh
# A running session is guarded, as the kernel tells (proc_pid_status(5)).
#   running.sh MIDTHROW
set -u
midthrow=$1
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkfifo "$work/answers"
"$midthrow" --typed --data "$work/data" <"$work/answers" >"$work/lived" &
pid=$!
exec 3>"$work/answers"
for _ in $(seq 100); do
    grep -q 'Work order' "$work/lived" && break
    sleep 0.1
done
cp "/proc/$pid/status" "$work/status"
exec 3>&-
wait $pid
grep -q '^NoNewPrivs:[[:space:]]*1$' "$work/status" || { echo 'FAILED: it may gain rights'; exit 1; }
if ! grep -q '^Seccomp:' "$work/status" || grep -q '^Seccomp:[[:space:]]*0$' "$work/status"; then
    echo 'this kernel offers no seccomp filters here'
    exit 77
fi
echo guarded
