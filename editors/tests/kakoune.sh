#!/usr/bin/env bash
# Drives Kakoune in a terminal, in the folder of the editors: the file type and the highlighting.
set -euo pipefail
. tests/terminal.sh

open "kak -n -e 'source kakoune/clutch.kak; source /usr/share/kak/rc/tools/comment.kak; edit tests/desk.clutch'"
see 'system desk'
see 'desk\.clutch'

# The colour that a word on a line is written in, as the terminal is told.
colour() {
    tmux -L "$editor" capture-pane -e -p -t it | grep -F "$1" | grep -oP "\x1b\[[0-9;]*m(?=$2)" | tail -1 |
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
same 'system desk' system 'system bench' system
same desk desk bench bench
same hy_s25 slave pedal pedal
different 'system bench' system 'system bench' bench
different hy_s25 slave hy_s25 hy_s25
different travel travel travel 150
different travel 150 travel mm
keys -l ':echo %opt{filetype} of %val{bufname}'
keys Enter
see 'clutch of tests/desk\.clutch'
picture kakoune.txt
keys -l ':quit!'
keys Enter
echo "kakoune: seen"
