#!/bin/sh
# --help, the manual page, the completion and the command table name the same commands and options.
#   words.sh MIDTHROW SOURCE
set -u
midthrow=$(realpath "$1")
source=$2
page=$source/src/manual/midthrow.1
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
failed=0

fail() {
    echo "FAILED: $*"
    failed=1
}

"$midthrow" --help >"$work/help"
sed -n 's/^    {"\([a-z]*\)", command_.*/\1/p' "$source/src/main.c" >"$work/table"
sed -n 's/^  \([a-z][a-z]*\)  *[^ ].*/\1/p' "$work/help" >"$work/listed"
sed -n 's/^\.Ss //p' "$page" | sort >"$work/paged"
cmp -s "$work/table" "$work/listed" || fail '--help does not list the command table'
sort -c "$work/table" || fail 'the command table is not sorted'
sort "$work/listed" | cmp -s - "$work/paged" ||
    fail "the manual page (src/manual/midthrow.1) has other commands: $(sort "$work/listed" | diff - "$work/paged" | grep '^[<>]' | tr '\n' ' ')"
[ "$(wc -l <"$work/help")" -le 24 ] || fail "--help has $(wc -l <"$work/help") lines, a screen 24"
[ "$(wc -L <"$work/help")" -le 80 ] || fail "--help is $(wc -L <"$work/help") columns wide, a screen 80"

# One option a line: of a command's --help, and of its part of the page.
options_of() {
    "$midthrow" "$1" --help | grep -oE -e '(^|[^a-z-])--?[a-z][a-z-]*' | grep -oE -e '--?[a-z][a-z-]*$' |
        grep -E -e '^(--..*|-o)$' | grep -vxE -e '--help|--version' | sort -u
}
options_in_page() {
    awk -v want="$1" '/^\.S[sh] / { in_it = $1 == ".Ss" && $2 == want } in_it' "$page" |
        grep '^\.It' | grep -oE 'Fl -?[a-z][a-z-]*' | sed 's/^Fl /-/' | sort -u
}
# Options that one command's --help names of another (completing them there does no harm).
elsewhere() {
    case $1 in
    devices) echo '--microphone
--speaker
--pad-device
--foot' ;;
    enrol) echo '--person' ;;
    history) echo '--bike' ;;
    report) echo '--rider' ;;
    *) echo none ;;
    esac
}
while read -r command; do
    options_of "$command" | grep -vxF -e "$(elsewhere "$command")" >"$work/of_help"
    options_in_page "$command" | grep -vxF -e "$(elsewhere "$command")" >"$work/of_page"
    [ "$command" = work ] || [ -s "$work/of_help" ] || fail "$command --help names no option"
    diff "$work/of_help" "$work/of_page" >"$work/diff" ||
        fail "$command: --help (<) and the manual page (>) differ: $(grep '^[<>]' "$work/diff" | tr '\n' ' ')"
    [ "$("$midthrow" "$command" --help | wc -L)" -le 100 ] || fail "$command --help is over 100 wide"
done <"$work/listed"

# Every long option the sources take is in somebody's --help (--output is -o spelled out).
while read -r command; do
    "$midthrow" "$command" --help
done <"$work/listed" >"$work/all"
grep -ohE '\{"[a-z][a-z-]+", (no|required|optional)_argument|"--[a-z][a-z-]+"' "$source"/src/command/*.c |
    grep -oE '"-*[a-z][a-z-]+"' | tr -d '"' | sed 's/^--//' | sort -u | grep -vxE 'help|version|output' |
    while read -r option; do
        grep -qE -e "--$option([^a-z-]|\$)" "$work/all" || echo "--$option is taken and told by no --help"
    done >"$work/untold"
[ -s "$work/untold" ] && fail "$(cat "$work/untold")"

# The completion, exercised in bash as readline would.
complete_with() {
    env PATH="$work/bin:$PATH" bash -c '
        . "$1"
        shift
        COMP_WORDS=(midthrow "$@") COMP_CWORD=$#
        _midthrow
        printf "%s\n" "${COMPREPLY[@]}"' bash "$source/src/manual/midthrow.bash" "$@"
}
mkdir "$work/bin"
ln -s "$midthrow" "$work/bin/midthrow"
complete_with '' | sort | cmp -s - "$work/paged" || fail 'completion of commands differs'
complete_with 'ba' | grep -qx balance || fail 'ba is not completed'
while read -r command; do
    { options_of "$command" | grep '^--'; echo --help; } | sort -u >"$work/of_help"
    complete_with "$command" -- | sort -u | cmp -s - "$work/of_help" || fail "completion of $command's options differs"
done <"$work/listed"
for _ in 1 2 3; do echo 7 | "$midthrow" --new --typed --data "$work/data" >/dev/null; done
[ "$(complete_with show --data "$work/data" '' | sort | tr '\n' ' ')" = '1 2 3 ' ] ||
    fail "job numbers: $(complete_with show --data "$work/data" '')"
[ "$(complete_with --profile gen)" = generic-big-twin ] || fail 'profiles are not completed'
[ "$(complete_with profile '' | tr '\n' ' ')" = 'check list new show ' ] || fail 'profile parts'

[ "$failed" = 0 ] && echo 'all the same'
exit "$failed"
