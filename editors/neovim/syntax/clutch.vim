" By shape alone: which blocks, fields, units and choices exist is known to the language server.
if exists("b:current_syntax")
  finish
endif
let b:current_syntax = "clutch"

syntax case match
syntax match clutchOperator /[-+*\/^·×±=<>]/
syntax match clutchFunction /\<\h\w*\ze\s*(/
syntax match clutchField /\<\h\w*\ze\s*=/
syntax match clutchChoice /\%(=\s*\)\@<=\h\w*\ze\s*\%($\|[#,}]\|\h\w*\s*=\)/
syntax match clutchPath /\<\h\w*\.\h\w*/ contains=clutchPathBlock
syntax match clutchPathBlock /\h\w*\ze\./ contained
" The unit right behind a number; a word with `=` behind it is the next field.
syntax match clutchUnit /\%(to\>\|\h\w*\s*=\)\@!\%([[:alpha:]°_]\+\d*\%(\^-\?\d\+\|[²³]\)\?\|%\|["″]\)\%([*·\/]\%([[:alpha:]°_]\+\d*\%(\^-\?\d\+\|[²³]\)\?\|%\)\)*/ contained
syntax match clutchNumber /\<\d\+\s\+\d\+\/\d\+\|\<\d\+\/\d\+\|\<\d\+\%([.,]\d\+\)\?\%([eE][-+]\?\d\+\)\?/ nextgroup=clutchUnit skipwhite
syntax match clutchBlock /\<\h\w*\ze\%(\s\+\h\w*\)\?\s*{/ nextgroup=clutchPart skipwhite
syntax match clutchBlock /\%(^\|[{}]\)\@<=\s*\zs\h\w*\ze\%(\s\+\h\w*\)\?\s*\%($\|[#}]\)/ nextgroup=clutchPart skipwhite
syntax match clutchPart /\<\h\w*/ contained
syntax keyword clutchCurve curve
syntax match clutchStatement /\%(^\|[{}]\)\@<=\s*\zs\%(use\|let\|choose\|require\)\>/
syntax match clutchStatement /\%(^\|[{}]\)\@<=\s*\zsallow\>/ nextgroup=clutchCheck skipwhite
syntax match clutchCheck /\h\w*\%(-\h\w*\)*/ contained
syntax match clutchStructure /\%(^\|[{}]\)\@<=\s*\zspart\>/ nextgroup=clutchBlockOfPart skipwhite
syntax match clutchBlockOfPart /\<\h\w*/ contained nextgroup=clutchDefined skipwhite
syntax match clutchStructure /\%(^\|[{}]\)\@<=\s*\zssystem\>/ nextgroup=clutchDefined skipwhite
syntax match clutchDefined /\<\h\w*/ contained
syntax keyword clutchStatement from to
syntax region clutchText start=/"/ end=/"\|$/ oneline
syntax match clutchComment /#.*$/ contains=@Spell

highlight default link clutchBlock Type
highlight default link clutchBlockOfPart Type
highlight default link clutchPathBlock Type
highlight default link clutchCheck Constant
highlight default link clutchChoice Constant
highlight default link clutchComment Comment
highlight default link clutchCurve Keyword
highlight default link clutchDefined Function
highlight default link clutchField Identifier
highlight default link clutchPath Identifier
highlight default link clutchFunction Function
highlight default link clutchNumber Number
highlight default link clutchOperator Operator
highlight default link clutchPart Special
highlight default link clutchStatement Statement
highlight default link clutchStructure Structure
highlight default link clutchText String
highlight default link clutchUnit Special
