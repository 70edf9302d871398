#!/bin/bash
# Files from outside that mean harm, or are what nobody expects: each command leaves in good order,
# with one line that says what to do, within a few seconds and bounded memory.
#   files.sh MIDTHROW SOURCES
set -u
midthrow=$1
sources=$2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
failed=0
seconds=20 # of this machine's, loaded and under a sanitizer; a hang is for ever

# refused WHAT CODES command...: its exit code is one of them, and it says one line
refused() {
    local what=$1 codes=$2 code lines
    shift 2
    timeout -s KILL $seconds "$@" >"$work/out" 2>"$work/err" </dev/null
    code=$?
    lines=$(wc -l <"$work/err")
    if [[ " $codes " != *" $code "* ]] || { [ $code != 0 ] && [ "$lines" != 1 ]; } ||
        LC_ALL=C grep -qP '[\x00-\x08\x0b-\x1f\x7f]' "$work/err" "$work/out"; then
        echo "FAILED: $what: exit code $code, not one of $codes"
        head -c 600 "$work/err"
        failed=1
    fi
}

# ---- what is no file -------------------------------------------------------------------------
mkfifo "$work/fifo"
mkdir "$work/folder"
ln -s /dev/zero "$work/zero"
ln -s loop "$work/loop"
: >"$work/empty"
for what in "$work/fifo" "$work/folder" "$work/zero" "$work/loop" "$work/empty" /dev/null /dev/full \
    "$work/missing" "$work/fifo/x" ''; do
    refused "import '$what'" '1 2 3' "$midthrow" import "$what" --data "$work/none"
    refused "hear '$what'" '1 2 3' "$midthrow" --hear "$what" --data "$work/none"
    [ "$what" = "$work/empty" ] || refused "judge by '$what'" '1 2 3' "$midthrow" --reason "$what" --data "$work/none"
    refused "listen to '$what'" '1 2 3' "$midthrow" listen --grammar distance "$what"
done
for what in "$work/fifo" /dev/zero "$work/folder" /dev/full; do
    refused "report into '$what'" '1 2' "$midthrow" report 1 -o "$what" --data "$work/none"
    refused "data in '$what'" '0 1 2' "$midthrow" jobs --data "$what"
done
for name in journal.sqlite job-1.lock job-1.txt; do
    for what in /dev/zero "$work/fifo" "$work/empty" "$work/folder"; do
        rm -rf "$work/d"
        mkdir -m 700 "$work/d"
        ln -s "$what" "$work/d/$name"
        refused "$name is a link to $what" '1' "$midthrow" --new --typed --data "$work/d"
    done
    rm -rf "$work/d"
    mkdir -m 700 "$work/d"
    mkfifo "$work/d/$name"
    refused "$name is a pipe" '1' "$midthrow" --new --typed --data "$work/d"
done
[ -s "$work/empty" ] && { echo 'FAILED: a link was written through'; failed=1; }

# ---- profiles, judgement ------------------------------------------------------------------------
mkdir -p -m 700 "$work/p/profiles"
profile() {
    cat >"$work/p/profiles/bad.ini"
    refused "profile: $1" '1 2' "$midthrow" --profile bad --data "$work/p" --typed
    refused "judgement: $1" '0 1 2' "$midthrow" --reason "$work/p/profiles/bad.ini" --data "$work/p" --typed
}
head -c 65537 /dev/zero | profile 'zeros'
yes '[a]' | head -c 60000 | profile 'many sections'
yes 'a = b' | head -n 20000 | profile 'a hundred thousand bytes'
{ printf 'a = '; head -c 60000 /dev/zero | tr '\0' x; } | profile 'a long line'
printf '[bike]\nname = \033]0;x\007\n' | profile 'an escape'
printf '[bike]\nname = \342\200\256x\n' | profile 'a bidirectional control'
printf '[bike]\nname = \377\376\n' | profile 'no UTF-8'
printf '[throw]\ntolerance = 1e999999999999 in\n' | profile 'a huge number'
printf '[throw]\ntolerance = 99999999999999999999999999/99999999999999999999 in\n' | profile 'huge digits'
for name in ../../etc/passwd /etc/passwd . .. "$(printf 'a\033[2J')" "$(printf '%0300d' 0)"; do
    refused "profile name $name" '1 2' "$midthrow" --profile "$name" --data "$work/p" --typed
done

# ---- prompts -------------------------------------------------------------------------------------
share=$work/share
prompts() {
    rm -rf "$share"
    mkdir "$share"
    cp -r "$sources/prompts" "$sources/grammars" "$share"
    cp -r "$sources/src/profile/shipped" "$share/profiles"
    cat >"$share/prompts/zz.ini"
    refused "prompts: $1" '1' env MIDTHROW_SHARE="$share" "$midthrow" --typed --data "$work/s"
}
yes 'a' | head -n 20000 | prompts 'lines that are none'
seq -f '[s%.0f]
k = v' 5000 | prompts 'five thousand sentences'
{ echo '[s]'; printf 'k = %0190d\n' 0; yes "  $(printf '%0180d' 0)" | head -n 300; } | prompts 'a long sentence'
printf '[s]\nk = \033[2J\n' | prompts 'an escape'
rm "$share/prompts/zz.ini"
mkfifo "$share/prompts/zz.ini"
refused 'prompts: a pipe' '1' env MIDTHROW_SHARE="$share" "$midthrow" --typed --data "$work/s"
rm "$share/prompts/zz.ini"
ln -s /dev/zero "$share/prompts/zz.ini"
refused 'prompts: /dev/zero' '1' env MIDTHROW_SHARE="$share" "$midthrow" --typed --data "$work/s"

# ---- grammars and the dictionary -------------------------------------------------------------------
rm -rf "$share"
mkdir "$share"
cp -r "$sources/prompts" "$sources/grammars" "$share"
cp -r "$sources/src/profile/shipped" "$share/profiles"
sound=$(find "$sources/audio_fixtures/demo" -name '*.wav' | sort | head -n 1)
hear() {
    refused "$1" '1 2' env MIDTHROW_SHARE="$share" "$midthrow" listen --grammar count "$sound"
}
grammar() {
    cat >"$share/grammars/count.gram"
    hear "grammar: $1"
}
head='#JSGF V1.0; grammar count; '
echo 'nothing' | grammar 'none'
{ echo "$head"; for i in $(seq 40); do echo "<r$i> = <r$((i + 1))> <r$((i + 1))>;"; done
  echo 'public <count> = <r1>; <r41> = one;'; } | grammar 'two to the fortieth words'
{ echo "$head"; printf 'public <count> = '; printf '(%.0s' $(seq 20000); printf one; printf ')%.0s' $(seq 20000); echo ';'; } |
    grammar 'deep brackets'
echo "$head import <count.count>; public <count> = one | <count.count>;" | grammar 'imports itself'
echo "$head import <other.a>; public <count> = <other.a>;" >"$work/g"
echo '#JSGF V1.0; grammar other; import <count.count>; public <a> = <count.count>;' >"$share/grammars/other.gram"
grammar 'imports that go round' <"$work/g"
echo "$head import <other.a>; public <count> = <other.a>;" >"$work/g"
echo '#JSGF V1.0; grammar other; public <a> = (one;' >"$share/grammars/other.gram"
grammar 'an import that does not parse' <"$work/g"
{ echo "$head public <count> = one "; yes '[one]' | head -n 5000; echo ';'; } | grammar 'optional words in a row'
echo "$head public <count> = <count> one;" | grammar 'left recursion'
echo "$head public <count> = <a>; <a> = <b> one; <b> = <a> two;" | grammar 'rules that go round'
{ echo "$head public <count> = one"; yes '| one two three' | head -n 200000; echo ';'; } | grammar 'a large one'
head -c 200000 /dev/zero | grammar 'zeros'
echo "$head import <../../../../etc/passwd.a>; public <count> = one;" | grammar 'an import from elsewhere'
rm "$share/grammars/count.gram"
ln -s /dev/zero "$share/grammars/count.gram"
hear 'grammar: /dev/zero'
rm "$share/grammars/count.gram"
mkfifo "$share/grammars/count.gram"
hear 'grammar: a pipe'
rm "$share/grammars/count.gram"
mkdir "$share/grammars/count.gram"
hear 'grammar: a folder'
rmdir "$share/grammars/count.gram"
cp "$sources/grammars/count.gram" "$share/grammars"
mkdir "$work/elsewhere" # where the library would look for what a grammar imports
echo '#JSGF V1.0; grammar command; public <command> = (one;' >"$work/elsewhere/command.gram"
for where in "$work/elsewhere" "$work/elsewhere:$work/elsewhere" ''; do
    timeout 60 env MIDTHROW_SHARE="$share" JSGF_PATH="$where" "$midthrow" listen --grammar count "$sound" >"$work/out" 2>&1
    [ $? = 0 ] || { echo "FAILED: JSGF_PATH=$where led astray"; head -c 600 "$work/out"; failed=1; }
done
rm "$share/grammars/shop.dict"
ln -s /dev/zero "$share/grammars/shop.dict"
hear 'dictionary: /dev/zero'
rm "$share/grammars/shop.dict"
mkfifo "$share/grammars/shop.dict"
hear 'dictionary: a pipe'

# ---- sounds ------------------------------------------------------------------------------------------
# 44 bytes of WAV header: channels, rate, bits, what the data chunk claims to hold (format: Microsoft
# and IBM, Multimedia Programming Interface and Data Specifications 1.0, 1991).
le() { local v=$1 n=$2 i; for ((i = 0; i < n; i++)); do printf "\\x$(printf %02x $(((v >> (8 * i)) & 255)))"; done; }
wav() {
    printf RIFF; le $((36 + $4)) 4; printf 'WAVEfmt '; le 16 4; le 1 2; le "$1" 2; le "$2" 4
    le $(($2 * $1 * $3 / 8)) 4; le $(($1 * $3 / 8)) 2; le "$3" 2; printf data; le "$4" 4
}
sound() {
    cat >"$work/x.$2"
    refused "sound: $1" "${3:-1}" "$midthrow" listen --grammar distance "$work/x.$2"
    refused "answer: $1" "${3:-1}" "$midthrow" --hear "$work/x.$2" --new --data "$work/sound"
}
{ wav 1 16000 16 4294967290; head -c 32000 /dev/zero; } | sound 'claims 4 GB' wav '0 1'
wav 1 16000 16 4294967290 | sound 'claims 4 GB, has nothing' wav
{ wav 1 1 16 64000; head -c 64000 /dev/zero; } | sound 'one sample a second' wav
{ wav 1 2147483647 16 64000; head -c 64000 /dev/zero; } | sound 'two thousand million samples a second' wav
{ wav 65535 16000 8 64000; head -c 64000 /dev/zero; } | sound '65535 channels' wav
{ wav 0 16000 16 64000; head -c 64000 /dev/zero; } | sound 'no channel' wav
{ wav 64 768000 8 400000000; head -c 1000 /dev/zero; } | sound 'a large claim' wav '0 1'
truncate -s 6G "$work/x.wav"
{ wav 1 16000 16 4000000000; } | dd of="$work/x.wav" conv=notrunc status=none
refused 'sound: six real gigabytes' 1 "$midthrow" listen --grammar distance "$work/x.wav"
truncate -s 6G "$work/x.mp3"
printf '\377\373\220\144' | dd of="$work/x.mp3" conv=notrunc status=none
refused 'sound: six gigabytes of MP3' 1 "$midthrow" listen --grammar distance "$work/x.mp3"
rm "$work/x.wav" "$work/x.mp3"
if command -v sox >/dev/null; then
    for type in flac ogg; do
        sox -n -r 192000 -c 8 -b 16 "$work/bomb.$type" trim 0 90 2>/dev/null || continue
        refused "sound: silence that swells, $type" 1 "$midthrow" listen --grammar distance "$work/bomb.$type"
        sox -n -r 48000 -c 2 -b 16 "$work/bomb.$type" trim 0 100 2>/dev/null
        refused "sound: silence that swells to the limit, $type" '0 1' "$midthrow" listen --grammar distance "$work/bomb.$type"
        head -c 3000 "$work/bomb.$type" | sound "cut $type" "$type" '0 1'
    done
fi

# ---- jobs to import ------------------------------------------------------------------------------------
import() {
    cat >"$work/x.jobs"
    refused "import: $1" 1 "$midthrow" import "$work/x.jobs" --data "$work/none"
}
repeat() { head -c "$2" /dev/zero | sed "s/\\x00/$1/g"; }
first='{"midthrow":"jobs","version":1,"jobs":1}'
job='{"job":"5202cd68a20f3814e88cd0035e74ac6d","events":2}'
opened='{"kind":"opened","at_ms":1,"source":"station","names":["x"]}'
{ echo "$first"; repeat '[' 30000; echo; } | import 'deep arrays'
{ echo "$first"; repeat '{"a":' 30000; echo; } | import 'deep objects'
{ echo "$first"; echo "$job"; echo "$opened"; printf '{"kind":"heard","at_ms":1,"source":"ear","words":"'; repeat 'a' 31000; echo '"}'; } | import 'long words'
{ echo "$first"; head -c 100000000 /dev/zero; } | import 'zeros'
{ echo "$first"; head -c 1000000 /dev/zero | tr '\0' a; } | import 'a line without end'
yes "$first" | head -n 1000000 | import 'a million first lines'
{ echo '{"midthrow":"jobs","version":1,"jobs":99999999999999999999999}'; } | import 'a huge count'
{ echo "$first"; echo '{"job":"5202cd68a20f3814e88cd0035e74ac6d","events":9223372036854775807}'; } | import 'huge events'
{ echo "$first"; echo "$job"; echo "$opened"; echo '{"kind":"heard","at_ms":1e999,"source":"ear","words":"x"}'; } | import 'a huge time'
{ echo "$first"; echo "$job"; echo "$opened"; echo '{"kind":"heard","at_ms":1,"source":"ear","score":1e308,"words":"x\u0000y"}'; } | import 'a zero in words'
{ echo "$first"; echo "$job"; echo "$opened"; printf '{"kind":"heard","at_ms":1,"source":"ear","words":"\377\300\257"}\n'; } | import 'no UTF-8'
{ echo "$first"; echo "$job"; echo "$opened"; } | import 'cut off'

[ "$failed" = 0 ] && echo 'all refused in good order'
exit "$failed"
