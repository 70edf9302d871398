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
cat "/proc/$pid"/task/*/status >"$work/status" # of every thread: some libraries start their own
exec 3>&-
wait $pid
if ! grep -q '^NoNewPrivs:' "$work/status" || grep -q '^NoNewPrivs:[[:space:]]*0$' "$work/status"; then
    echo 'FAILED: it may gain rights'
    exit 1
fi
if ! grep -q '^Seccomp:[[:space:]]*[12]$' "$work/status"; then
    echo 'this kernel offers no seccomp filters here'
    exit 77
fi
if grep -q '^Seccomp:[[:space:]]*0$' "$work/status"; then
    echo 'FAILED: a thread is not held'
    exit 1
fi
echo guarded
