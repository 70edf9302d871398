#!/bin/bash
# The big screen on a real terminal (tmux): start, answer by keys, resize, stop and go on, die. What
# is on it, and that the terminal is given back as it was, whatever ends midthrow.
#   big.sh MIDTHROW
set -u
midthrow=$1
if ! command -v tmux >/dev/null; then
    echo 'tmux is not installed: skipped'
    exit 77
fi
work=$(mktemp -d)
export LANG=C.UTF-8 LC_ALL=C.UTF-8 TMUX_TMPDIR=$work
unset TMUX NO_COLOR COLORFGBG
failed=0

# A server of its own for each start: one that is ending would refuse the next.
server=0
t() {
    tmux -L "midthrow$server" -f /dev/null "$@"
}

afresh() {
    t kill-server 2>/dev/null
    server=$((server + 1))
}

trap 't kill-server 2>/dev/null; rm -rf "$work"' EXIT

fail() {
    echo "FAILED: $1"
    t capture-pane -p
    failed=1
}

# Waits up to ten seconds for a fixed string on the screen.
shows() {
    for _ in $(seq 100); do
        t capture-pane -p | grep -qF -- "$1" && return 0
        sleep 0.1
    done
    fail "not seen: $1"
    return 1
}

keys() {
    t send-keys -l -- "$1"
    t send-keys Enter
}

# start ROWS COLS TERM ARGUMENT...: midthrow, without a sound, under a shell that then prints how it ended and whether
# the terminal is as it was.
start() {
    rows=$1 cols=$2 term=$3
    shift 3
    cat >"$work/run" <<RUN
export TERM=$term
trap : INT
stty -a | grep -v '^speed' >"$work/before"
"$midthrow" --data "$work/data" --profile generic-big-twin --typed --pad --mute $*
code=\$?
sleep 0.3
stty -a | grep -v '^speed' >"$work/after"
cmp -s "$work/before" "$work/after" && echo "the terminal is as it was, code \$code"
exec sleep 1000
RUN
    afresh
    t new-session -d -x "$cols" -y "$rows" "sh $work/run"
    t set -g status off
}

pid() {
    pgrep -f "^$midthrow --data $work/data" | head -n 1
}

# ---- a job by keys, and every size of window --------------------------------------------------

start 24 80 tmux-256color --new
shows 'No microphone'
shows '-- stop'
t send-keys -l -- 508
shows 'KEYS SO FAR, THEN ENTER'
t send-keys -l -- 3
t send-keys Enter
shows 'work order 5083'
shows 'KEYS 5083'
keys ..
shows 'questions to the rider'
for size in 132x43 20x8 7x3 200x60 80x24; do
    t resize-window -x "${size%x*}" -y "${size#*x}"
    sleep 0.3
done
shows 'questions to the rider'
t capture-pane -p | grep -q '[▖▗▘▝▚▞]' || fail 'no big letters'
t capture-pane -ep | grep -q '48;5;16' || fail 'not dark'
keys xyzzy
shows 'TYPED'
keys 1
shows 'KEYS 1'

keys --
shows 'KEYS --'
keys 2
shows 'the terminal is as it was, code 0'
shows 'is kept'

# ---- Ctrl-Z: the terminal is the shell's, until midthrow is let go on --------------------------

afresh
t new-session -d -x 80 -y 24 "env TERM=tmux-256color PS1='shell> ' bash --norc --noprofile -i"
t set -g status off
keys "$midthrow --data $work/data --profile generic-big-twin --typed --pad --mute --resume"
shows '-- stop'
t send-keys C-z
shows 'Stopped'
keys 'stty -a | grep -o " icanon"; echo mode$?'
shows 'mode0'
t resize-window -x 100 -y 30
keys fg
shows '-- stop'
keys 1
shows 'KEYS 1'
keys --
shows 'KEYS --'
keys 2
shows 'is kept'

# ---- whatever ends it -------------------------------------------------------------------------

start 24 80 tmux-256color --light --resume
shows '-- stop'
t capture-pane -ep | grep -q '48;5;231' || fail 'not light'
kill -TERM "$(pid)"
shows 'the terminal is as it was, code 0'

start 24 80 tmux-256color --resume
shows '-- stop'
kill -SEGV "$(pid)"
shows 'the terminal is as it was, code 1' # 139; under a sanitizer 1

start 24 80 tmux-256color --resume
shows '-- stop'
kill -KILL "$(pid)"
shows 'the terminal is as it was, code 137'

# The terminal itself goes away: midthrow ends, and nothing is left running.
start 24 80 tmux-256color --resume
shows '-- stop'
p=$(pid)
t kill-server
for _ in $(seq 50); do
    kill -0 "$p" 2>/dev/null || break
    sleep 0.1
done
kill -0 "$p" 2>/dev/null && fail 'it outlives its terminal'

# ---- poor terminals ---------------------------------------------------------------------------

start 24 80 vt100 --resume
shows '-- stop'
t send-keys C-c
shows 'the terminal is as it was'
start 24 80 dumb --resume
shows '['
t capture-pane -p | grep -q -- '-- stop' && fail 'a dumb terminal is drawn on'
start 24 80 tmux-256color --resume --plain
shows '      ['
t capture-pane -p | grep -q -- '-- stop' && fail '--plain is drawn'

[ "$failed" = 0 ] && echo 'all as expected'
exit "$failed"
