#!/usr/bin/env bash
# Drives Helix in a terminal, in the folder of the editors, with the program on the path.
set -euo pipefail
. tests/terminal.sh

mkdir -p "$HOME/.config/helix"
cp helix/languages.toml "$HOME/.config/helix/"
printf '[editor.lsp]\ndisplay-inlay-hints = true\n' >"$HOME/.config/helix/config.toml"
runtime=$HOME/.config/helix/runtime
mkdir -p "$runtime/grammars" "$runtime/queries"
cp tree-sitter/parser/clutch.so "$runtime/grammars/"
cp -r helix/queries/clutch "$runtime/queries/"
cp tests/desk.clutch tests/helix.clutch
open hx tests/helix.clutch

# Helix takes a key right behind Escape for one with Alt.
normal() {
    keys Escape
    see '^ NOR '
}

# The colours of the grammar: without it no word has one.
colour_of() {
    tmux -L "$editor" capture-pane -e -p -t it | grep -aoP "38;5;\\K[0-9]+(?=m(\x1b\[(49|4)m)*$1)" | head -1
}
coloured() {
    local until=$((SECONDS + 20))
    until [ -n "$(colour_of "$1")" ]; do
        [ $SECONDS -lt $until ] || fail "waited in vain for a colour of $1"
        sleep 0.02
    done
}
coloured system
coloured '"Gr'
coloured 150
[ "$(colour_of system)" != "$(colour_of '"Gr')" ] || fail "a text has the colour of a word"

# The inlay hints.
see 'slave hy_s25 }.*margin [-−]0\.33 mm'

# The finding: what is selected begins and ends with the part, whatever comes before it.
keys ']' d
see 'short of the 7\.2 mm that frees the disc'
see '4:63 *$'
keys 'M-\;'
see '4:58 *$'
picture helix-finding.txt

# Hover.
keys Space k
see 'bore = 1 in'
picture helix-hover.txt
normal
see_no 'bore = 1 in'

# A cure, applied.
keys Space a
see 'slave: release margin 0\.65 mm, effort 126 N( *$| +\()'
picture helix-cures.txt
keys Enter
see 'slave hy_s25 \{ bore = 15/16 in \} \}'
see_no 'short of the 7\.2 mm'
normal

# Completion, accepted.
keys -l ':goto 8'
keys Enter
see ' 8:[0-9]+ *$'
keys o
see '^ INS '
write return_for
see 'return_force +[a-z]'
picture helix-completion.txt
keys C-n
keys Enter
see '    return_force = *$'
write 12N
normal

# Formatting.
keys -l ':write'
keys Enter
see 'written'
bitepoint fmt - <tests/helix.clutch >helix.wanted
! cmp -s tests/helix.clutch helix.wanted || fail "there is nothing to format"
keys -l ':format'
keys Enter
see '        travel       = 150 mm'
keys -l ':write'
keys Enter
until cmp -s tests/helix.clutch helix.wanted; do
    [ $SECONDS -lt 60 ] || fail "the formatting is another"
    sleep 0.02
done
keys -l ':quit!'
keys Enter
echo "helix: seen"
