# bash completion for midthrow. Commands and options are what its own --help says, so that nothing
# here grows old; job numbers come from 'midthrow jobs --json'.
_midthrow_commands() {
    "$1" --help 2>/dev/null | sed -n 's/^  \([a-z][a-z]*\)  *[^ ].*/\1/p'
}

_midthrow_options() {
    "$1" "$2" --help 2>/dev/null | grep -oE -e '(^|[^a-z-])--[a-z][a-z-]*' | grep -oE -e '--[a-z-]+' |
        sort -u
    echo --help
}

_midthrow() {
    local program=${COMP_WORDS[0]} word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]}
    local command=work data=() i
    COMPREPLY=()
    [ "${COMP_CWORD}" -gt 1 ] && [[ ${COMP_WORDS[1]} != -* ]] && command=${COMP_WORDS[1]}
    for ((i = 1; i < COMP_CWORD; i++)); do
        [ "${COMP_WORDS[i]}" = --data ] && data=(--data "${COMP_WORDS[i + 1]}")
    done
    case $before in
    --data)
        mapfile -t COMPREPLY < <(compgen -d -- "$word")
        return
        ;;
    --profile)
        mapfile -t COMPREPLY < <(compgen -W "$("$program" profile list "${data[@]}" 2>/dev/null |
            cut -d ' ' -f 1)" -- "$word")
        return
        ;;
    --grammar)
        mapfile -t COMPREPLY < <(compgen -W "$("$program" listen --grammars 2>/dev/null)" -- "$word")
        return
        ;;
    --format)
        mapfile -t COMPREPLY < <(compgen -W 'text html json transcript vtt' -- "$word")
        return
        ;;
    --hear | --speak-to | --svg | --reason | -o)
        mapfile -t COMPREPLY < <(compgen -f -- "$word")
        return
        ;;
    esac
    if [[ $word == -* ]]; then
        mapfile -t COMPREPLY < <(compgen -W "$(_midthrow_options "$program" "$command")" -- "$word")
        return
    fi
    if [ "$COMP_CWORD" = 1 ]; then
        mapfile -t COMPREPLY < <(compgen -W "$(_midthrow_commands "$program")" -- "$word")
        return
    fi
    case $command:$COMP_CWORD in
    show:* | report:* | why:* | export:* | forget:* | work:*)
        [ "$command" = work ] && [ "$before" != --resume ] && return
        mapfile -t COMPREPLY < <(compgen -W "$("$program" jobs --json "${data[@]}" 2>/dev/null |
            sed -n 's/.*"job": *\([0-9][0-9]*\).*/\1/p')" -- "$word")
        ;;
    profile:2) mapfile -t COMPREPLY < <(compgen -W 'check list new show' -- "$word") ;;
    profile:*)
        mapfile -t COMPREPLY < <(compgen -W "$("$program" profile list "${data[@]}" 2>/dev/null |
            cut -d ' ' -f 1)" -- "$word"; compgen -f -X '!*.ini' -- "$word")
        ;;
    learn:2) mapfile -t COMPREPLY < <(compgen -W 'export forget show' -- "$word") ;;
    listen:* | import:*) mapfile -t COMPREPLY < <(compgen -f -- "$word") ;;
    esac
}
complete -o filenames -F _midthrow midthrow
