; Notes in a comment, such as TODO, for editors that have a grammar of comments.

((comment) @injection.content
 (#set! injection.language "comment"))
