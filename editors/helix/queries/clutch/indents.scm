; Where lines are indented.

[(system_body) (body) (curve)] @indent
"}" @outdent
