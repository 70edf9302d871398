# Sourced by the tests of the command: a folder for what it makes, and what it has to say.
#   expect CODE 'words of the error' command...
#   check 'what holds' 'shell condition'
# Both set `failed`; what the last expected command said is in $work/out and $work/err.
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
failed=0

expect() {
    code=$1 words=$2
    shift 2
    "$@" >"$work/out" 2>"$work/err" </dev/null
    got=$?
    lines=$(wc -l <"$work/err")
    if [ "$got" != "$code" ] || { [ -n "$words" ] && ! grep -q -- "$words" "$work/err"; } ||
        { [ "$code" != 0 ] && [ "$lines" != 1 ]; }; then
        echo "FAILED: $* gave $got, wanted $code and '$words':"
        cat "$work/err"
        failed=1
    fi
}

check() {
    if ! eval "$2"; then
        echo "FAILED: $1"
        failed=1
    fi
}
