#!/usr/bin/env bash
# Drives Kakoune in a terminal, in the folder of the editors: the file type and the highlighting.
set -euo pipefail
. tests/terminal.sh

open "kak -e 'source kakoune/clutch.kak; edit tests/desk.clutch'"
see 'system desk'
see 'desk\.clutch'

# The colour that a word of a line is written in, as the terminal is told.
colour() {
    tmux -L "$editor" capture-pane -e -p -t it | sed -n "$1p" | grep -oP "\x1b\[[0-9;]*m(?=$2)" | tail -1 |
        tr -d '\033'
}

# Words of one kind have one colour, and words of different kinds have different ones.
same() {
    local until=$((SECONDS + 10))
    until [ -n "$(colour "$1" "$2")" ] && [ "$(colour "$1" "$2")" = "$(colour "$3" "$4")" ]; do
        [ $SECONDS -lt $until ] || fail "$2 and $4: $(colour "$1" "$2") and $(colour "$3" "$4")"
        sleep 0.02
    done
}
different() {
    [ "$(colour "$1" "$2")" != "$(colour "$3" "$4")" ] || fail "$2 and $4 look the same"
}
same 4 system 6 system
same 4 desk 6 bench
same 4 slave 7 pedal
different 4 system 4 desk
different 4 slave 4 hy_s25
different 8 travel 8 150
keys -l ':echo %opt{filetype} of %val{bufname}'
keys Enter
see 'clutch of tests/desk\.clutch'
picture kakoune.txt
keys -l ':quit!'
keys Enter
echo "kakoune: seen"
