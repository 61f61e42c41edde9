# A person at a terminal: keys go in, and what is on the screen is waited for. To be sourced.

editor=${0##*/}
editor=${editor%.sh}

open() {
    tmux -L "$editor" -f /dev/null new-session -d -s it -x 170 -y 45 "$*" \; set -s escape-time 0
}

screen() {
    tmux -L "$editor" capture-pane -p -t it 2>&1
}

# Keys by name, or with -l as they are written.
keys() {
    tmux -L "$editor" send-keys -t it "$@"
}

fail() {
    echo "$editor: $1; on the screen:" >&2
    screen >&2
    exit 1
}

# Waits until something on the screen matches.
see() {
    local until=$((SECONDS + 20))
    until screen | grep -Eq -- "$1"; do
        [ $SECONDS -lt $until ] || fail "waited in vain for $1"
        sleep 0.02
    done
}

# Waits until nothing on the screen matches.
see_no() {
    local until=$((SECONDS + 20))
    while screen | grep -Eq -- "$1"; do
        [ $SECONDS -lt $until ] || fail "waited in vain for $1 to go"
        sleep 0.02
    done
}

# Writes a text letter by letter, each seen before the next. Keys that all come at once are
# faster than any hand, and Helix 25.01 then tells the server of them in another order.
write() {
    local i
    for ((i = 1; i <= ${#1}; i++)); do
        keys -l -- "${1:i-1:1}"
        until screen | grep -Fq -- "${1:0:i}"; do
            [ $SECONDS -lt 100 ] || fail "waited in vain for ${1:0:i}"
            sleep 0.01
        done
    done
}

# Keeps what is on the screen, for people to look at.
picture() {
    screen >"$1"
}
