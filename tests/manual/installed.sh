#!/bin/bash
# What 'meson install' puts in place, into a folder that stands for another machine's prefix: complete,
# well formed, and midthrow runs from there and needs nothing of the sources.
#   installed.sh BUILD
set -u
build=$1
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
failed=0
unset MIDTHROW_SHARE

fail() {
    echo "FAILED: $*"
    failed=1
}

DESTDIR=$work/there meson install -C "$build" --no-rebuild --quiet >"$work/log" 2>&1 || fail "$(cat "$work/log")"
mkdir "$work/moved"
mv "$work/there$2" "$work/moved/tree" # what stood in the prefix, at another one
tree=$work/moved/tree
for file in bin/midthrow share/man/man1/midthrow.1 share/bash-completion/completions/midthrow \
    share/applications/midthrow.desktop share/icons/hicolor/scalable/apps/midthrow.svg \
    lib/systemd/user/midthrow.service share/midthrow/profiles/generic-big-twin.ini \
    share/midthrow/prompts/job.ini share/midthrow/prompts/profile.ini \
    share/midthrow/grammars/distance.gram share/midthrow/grammars/shop.dict; do
    [ -s "$tree/$file" ] || fail "$file is not installed"
done

"$tree/bin/midthrow" --version >/dev/null || fail '--version'
"$tree/bin/midthrow" profile list --data "$work/data" | grep -q generic-big-twin || fail 'no profile is found'
echo 5083 | "$tree/bin/midthrow" --typed --new --data "$work/data" | grep -q 'Work order number' ||
    fail 'a job does not begin'
"$tree/bin/midthrow" listen --grammar number --json "$tree"/share/midthrow/audio_fixtures/demo/002-skip-this-one.wav |
    grep -q '"words":"skip this one"' || fail 'a recording is not heard'
mv "$tree/share/midthrow" "$tree/share/away"
"$tree/bin/midthrow" --new --typed --data "$work/data" </dev/null >/dev/null 2>&1 &&
    [ ! -d "$2/share/midthrow" ] && fail 'it runs without its sentences: they came from elsewhere'

skipped=
mandoc -Tlint -W warning "$tree/share/man/man1/midthrow.1" 2>/dev/null >"$work/lint" || fail "$(cat "$work/lint")"
desktop-file-validate "$tree/share/applications/midthrow.desktop" || fail 'the desktop entry'
xmllint --noout "$tree/share/icons/hicolor/scalable/apps/midthrow.svg" 2>/dev/null ||
    python3 -c 'import sys, xml.dom.minidom as d; d.parse(sys.argv[1])' \
        "$tree/share/icons/hicolor/scalable/apps/midthrow.svg" || fail 'the icon'
bash -n "$tree/share/bash-completion/completions/midthrow" || fail 'the completion'
# the unit names the configured prefix, where nothing is: point it at the program that is
sed "s,^ExecStart=[^ ]*,ExecStart=$tree/bin/midthrow," "$tree/lib/systemd/user/midthrow.service" >"$work/midthrow.service"
grep -q "^ExecStart=$2/bin/midthrow" "$tree/lib/systemd/user/midthrow.service" || fail 'the unit starts something else'
if command -v systemd-analyze >/dev/null; then
    mkdir -p "$work/run"
    XDG_RUNTIME_DIR=$work/run systemd-analyze --user verify "$work/midthrow.service" >"$work/unit" 2>&1
    grep -v 'man midthrow(1)' "$work/unit" | grep -i 'midthrow.service' >"$work/complaints" && fail "$(cat "$work/complaints")"
else
    skipped='systemd-analyze is not there: the unit was not verified'
fi
[ "$failed" = 0 ] && echo "all in place. $skipped"
exit "$failed"
