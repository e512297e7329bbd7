# SPDX-License-Identifier: GPL-3.0-or-later
# bash completion for plateau

_plateau()
{
    local word=${COMP_WORDS[COMP_CWORD]} previous=${COMP_WORDS[COMP_CWORD - 1]}
    local command=${COMP_WORDS[1]}
    COMPREPLY=()
    if [ "$COMP_CWORD" -eq 1 ]; then
        COMPREPLY=($(compgen -W 'analyze check explain help new verify --help --version' -- "$word"))
        return
    fi
    case $previous in
    --color) COMPREPLY=($(compgen -W 'auto always never' -- "$word")); return ;;
    --decimal) COMPREPLY=($(compgen -W 'comma point' -- "$word")); return ;;
    --require) COMPREPLY=($(compgen -W 'met' -- "$word")); return ;;
    --from) compopt -o filenames; COMPREPLY=($(compgen -d -- "$word") $(compgen -f -X '!*.json' -- "$word")); return ;;
    --trial) compopt -o filenames; COMPREPLY=($(compgen -d -- "$word")); return ;;
    --out) compopt -o filenames; COMPREPLY=($(compgen -d -- "$word")); return ;;
    esac
    case $command:$word in
    analyze:-*)
        COMPREPLY=($(compgen -W '--color --json --out --quiet --require --help' -- "$word")) ;;
    verify:-*)
        COMPREPLY=($(compgen -W '--all --quiet --self --trial --help' -- "$word")) ;;
    new:-*)
        COMPREPLY=($(compgen -W '--decimal --from --help' -- "$word")) ;;
    *:-*)
        COMPREPLY=($(compgen -W '--help' -- "$word")) ;;
    analyze:* | check:*)
        compopt -o filenames
        COMPREPLY=($(compgen -d -- "$word") $(compgen -f -X '!*.[cC][sS][vV]' -- "$word")) ;;
    explain:*)
        COMPREPLY=($(compgen -W "$(plateau explain 2>/dev/null | cut -d ' ' -f 1)" -- "$word")) ;;
    help:*)
        COMPREPLY=($(compgen -W 'analyze check explain help new verify' -- "$word")) ;;
    verify:*)
        compopt -o filenames
        COMPREPLY=($(compgen -d -- "$word") $(compgen -f -X '!*.json' -- "$word")) ;;
    new:*)
        compopt -o filenames
        COMPREPLY=($(compgen -d -- "$word")) ;;
    esac
} && complete -F _plateau plateau
