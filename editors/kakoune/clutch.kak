# Clutch actuation specs: the file type, highlighting by shape, and the server for kakoune-lsp.

hook global BufCreate .*\.clutch %{
    set-option buffer filetype clutch
}

hook global WinSetOption filetype=clutch %{
    require-module clutch
    add-highlighter window/clutch ref clutch
    set-option window comment_line '#'
    set-option window indentwidth 4
    hook -once -always window WinSetOption filetype=.* %{ remove-highlighter window/clutch }
}

# Read by kakoune-lsp 17 and newer; does nothing without it.
hook -group lsp-filetype-clutch global BufSetOption filetype=clutch %{
    try %{
        set-option buffer lsp_servers %{
            [bitepoint]
            command = "bitepoint"
            args = ["serve"]
            root_globs = ["bitepoint.toml", ".git"]
        }
    }
}

# Later rules lie over earlier ones.
provide-module clutch %§
    add-highlighter shared/clutch regions
    add-highlighter shared/clutch/code default-region group
    add-highlighter shared/clutch/comment region '#' '$' fill comment
    add-highlighter shared/clutch/text region '(?<![0-9])"' '"|$' fill string
    add-highlighter shared/clutch/code/ regex '[0-9]\h*([a-zA-Z°%][\w°*·/^]*)' 1:attribute
    add-highlighter shared/clutch/code/ regex '\b[0-9]+([.,/][0-9]+)?\b' 0:value
    add-highlighter shared/clutch/code/ regex '(\w+)(?:\h+(\w+))?\h*\{' 1:type 2:variable
    add-highlighter shared/clutch/code/ regex '^\h*(\w+)(?:\h+(\w+))?\h*$' 1:type 2:variable
    add-highlighter shared/clutch/code/ regex '\{\h*([a-zA-Z_]\w*)\h+([a-zA-Z_]\w*)\h*\}' 1:type 2:variable
    add-highlighter shared/clutch/code/ regex '(\w+)\h*(=)(?:\h*([a-zA-Z_]\w*))?' 1:variable 2:operator 3:value
    add-highlighter shared/clutch/code/ regex '\b([a-zA-Z_°]\w*)\.(\w+)' 1:type 2:variable
    add-highlighter shared/clutch/code/ regex '\b(\w+)\h*\(' 1:function
    add-highlighter shared/clutch/code/ regex '^\h*(system)\h+(\w+)' 1:keyword 2:function
    add-highlighter shared/clutch/code/ regex '^\h*(part)\h+(\w+)\h+(\w+)' 1:keyword 2:type 3:function
    add-highlighter shared/clutch/code/ regex '^\h*(allow)\h+([\w-]+)' 1:keyword 2:value
    add-highlighter shared/clutch/code/ regex '^\h*(use|let|choose|require)\b' 1:keyword
    add-highlighter shared/clutch/code/ regex '\b(from|to|curve)\b' 1:keyword
§
