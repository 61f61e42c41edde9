; The colours of .clutch specs.

["use" "let" "part" "system" "from" "choose" "require" "allow" "curve" "to"] @keyword

(comment) @comment
(text) @string
(number) @number
(unit) @type.builtin

(part block: (identifier) @type)
(part name: (identifier) @constant)
(system name: (identifier) @module)
(system base: (identifier) @module)
(system title: (text) @string)
(block block: (identifier) @type)
(block part: (identifier) @constant)
(choose block: (identifier) @type)
(choose part: (identifier) @constant)
(field name: (identifier) @property)
(path block: (identifier) @type)
(path field: (identifier) @property)
(let name: (identifier) @variable)
(call function: (identifier) @function.builtin)
(require result: (identifier) @variable.member)
(check_name) @attribute

; What stands alone behind an equals sign is one of the field's own words, or a let.
(field value: (identifier) @constant.builtin)
(binary (identifier) @variable)
(group (identifier) @variable)
(unary (identifier) @variable)
(power (identifier) @variable)
(call "(" (identifier) @variable)
(tolerance (identifier) @variable)
(limits (identifier) @variable)
(point (identifier) @variable)
(require limit: (identifier) @variable)

["=" "<=" ">=" "<" ">" "+" "-" "*" "·" "×" "/" "^" "±" "+/-" "+-"] @operator
["(" ")" "{" "}"] @punctuation.bracket
["," "." ":"] @punctuation.delimiter
