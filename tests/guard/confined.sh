#!/bin/bash
# Commands that run no job are held to their files too: what a link in their folders leads to, out of
# them, is not read. Without the guard it is, so that it is the guard that is seen.
#   confined.sh MIDTHROW SOURCES
set -u
midthrow=$1
sources=$2
python3 -c 'import ctypes, sys
sys.exit(ctypes.CDLL(None).syscall(444, None, 0, 1) < 1)  # landlock_create_ruleset: which version?' ||
    { echo 'this kernel offers no Landlock here'; exit 77; }
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
failed=0

# held WHAT PATTERN command...: prints it without the guard, not with it
held() {
    local what=$1 pattern=$2
    shift 2
    MIDTHROW_GUARD=off "$@" >"$work/open" 2>&1 </dev/null
    "$@" >"$work/held" 2>&1 </dev/null
    grep -q "$pattern" "$work/open" || { echo "FAILED: $what: cannot be done at all"; cat "$work/open"; failed=1; }
    ! grep -q "$pattern" "$work/held" || { echo "FAILED: $what: was not held"; cat "$work/held"; failed=1; }
}

# done_as_ever WHAT command...: what it may do it does
done_as_ever() {
    local what=$1
    shift
    "$@" >"$work/held" 2>&1 </dev/null || { echo "FAILED: $what"; cat "$work/held"; failed=1; }
}

mkdir -p "$work/share" "$work/outside" "$work/data/profiles"
chmod 700 "$work/data" "$work/data/profiles"
cp -r "$sources/prompts" "$sources/grammars" "$work/share"
cp -r "$sources/src/profile/shipped" "$work/share/profiles"
export MIDTHROW_SHARE=$work/share
sound=$(find "$sources/audio_fixtures/demo" -name '*.wav' | sort | head -n 1)
cp "$sound" "$work/answer.wav"
ln -s "$work/answer.wav" "$work/link.wav"
profile=$(find "$work/share/profiles" -name '*.ini' | sort | head -n 1)
cp "$profile" "$work/outside/there.ini"
cp "$profile" "$work/data/profiles/here.ini"

done_as_ever 'a recording is recognised' "$midthrow" listen --grammar number "$work/answer.wav"
done_as_ever 'a recording behind a link that was named' "$midthrow" listen --grammar number "$work/link.wav"
done_as_ever 'a profile is checked' "$midthrow" profile check here --data "$work/data"
done_as_ever 'a profile named by its path' "$midthrow" profile check "$work/outside/there.ini" --data "$work/data"
done_as_ever 'profiles are listed' "$midthrow" profile list --data "$work/data"
done_as_ever 'a profile is shown' "$midthrow" profile show here --data "$work/data"

ln -s "$work/outside/there.ini" "$work/data/profiles/there.ini"
held 'profile check' 'there.ini: good' "$midthrow" profile check there --data "$work/data"
held 'profile list' '^there .*numbers' "$midthrow" profile list --data "$work/data"
held 'profile show' 'bike' "$midthrow" profile show there --data "$work/data"
mv "$work/share/grammars/number.gram" "$work/outside"
ln -s "$work/outside/number.gram" "$work/share/grammars/number.gram"
held 'listen' 'answer.wav: ' "$midthrow" listen --grammar number "$work/answer.wav"
mv "$work/share/grammars/shop.dict" "$work/outside"
ln -s "$work/outside/shop.dict" "$work/share/grammars/shop.dict"
held 'check' 'has its model and grammars' "$midthrow" check --no-sound --data "$work/data"
mv "$work/outside/number.gram" "$work/outside/shop.dict" "$work/share/grammars"
"$midthrow" check --no-sound --data "$work/data" >"$work/held" 2>&1
grep -q 'has its model and grammars' "$work/held" && grep -q 'holds the jobs' "$work/held" ||
    { echo 'FAILED: check'; cat "$work/held"; failed=1; }

[ "$failed" = 0 ] && echo 'held'
exit "$failed"
