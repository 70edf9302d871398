#!/bin/sh
# midthrow check without a sound card: what can be told good from bad by the program itself. (Sound is
# checked in simulated rooms by the tests of survey/.) And the practice, by recordings.
#   check.sh MIDTHROW RECORDINGS SOURCE
set -u
midthrow=$1
demo=$2
source=$3
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
failed=0

# expect CODE 'words of the output' option...
expect() {
    code=$1 words=$2
    shift 2
    "$midthrow" check "$@" >"$work/out" 2>"$work/err" </dev/null
    got=$?
    if [ "$got" != "$code" ] || ! grep -q -e "$words" "$work/out" "$work/err"; then
        echo "FAILED: check $* gave $got, wanted $code and '$words':"
        cat "$work/out" "$work/err"
        failed=1
    fi
}

expect 0 'The station is fit' --no-sound --data "$work/data"
expect 0 '^good *model' --no-sound --data "$work/data"
expect 0 '"fit": true' --no-sound --data "$work/data" --json
python3 -m json.tool <"$work/out" >/dev/null || { echo 'FAILED: no JSON'; failed=1; }

mkfifo "$work/pad"
expect 0 '^good *number pad' --no-sound --data "$work/data" --pad-device "$work/pad"
expect 3 '^missing *number pad' --no-sound --data "$work/data" --pad-device "$work/nosuch"
expect 3 '^missing *foot switch' --no-sound --data "$work/data" --foot "$work/nosuch=talk"
: >"$work/file"
expect 1 '^bad *data directory' --no-sound --data "$work/file/data"
expect 1 '"fit": false' --no-sound --data "$work/file/data" --json
expect 2 'unknown option' --frobnicate

mkdir -p "$work/share/grammars"
cp -r "$source/src/profile/shipped" "$work/share/profiles"
MIDTHROW_SHARE=$work/share
export MIDTHROW_SHARE
expect 3 '^missing *model' --no-sound --data "$work/data"
cp "$source"/grammars/*.gram "$work/share/grammars"
sed -i 's/ = / /' "$work/share/grammars/yesno.gram"
expect 3 "yesno.gram', line [0-9]*: a rule needs '='" --no-sound --data "$work/data"
unset MIDTHROW_SHARE

# The practice: the phrases in their order, in a voice the ear knows well; then somebody who says
# something else each time.
said() {
    set -- "$demo"/*-"$1".wav
    echo "$1"
}
set --
for words in affirmative five-sixteenths-of-an-inch six-point-three-millimetres engine-off-and-key-out \
    it-is-hard-to-find one-quarter-of-an-inch when-it-is-hot turned-as-told; do
    set -- "$@" "$(said $words)"
done
expect 0 'work by voice\.' --practice --data "$work/data" --hear "$@"
expect 0 ' 8 right' --practice --data "$work/data" --hear "$@"
wrong=$(said engine-off-and-key-out)
expect 0 'number pad, or try another' --practice --data "$work/data" --hear "$wrong" "$wrong" "$wrong" "$(said affirmative)"
expect 0 '"use": "pad"' --practice --json --data "$work/data" --hear "$wrong" "$wrong"
python3 -m json.tool <"$work/out" >/dev/null || { echo 'FAILED: no JSON'; failed=1; }
expect 3 'Nothing was heard' --practice --typed --data "$work/data"

[ "$failed" = 0 ] && echo 'all as expected'
exit "$failed"
