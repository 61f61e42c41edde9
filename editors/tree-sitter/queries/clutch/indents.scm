; Where lines are indented.

[(system_body) (body) (curve)] @indent.begin
"}" @indent.branch @indent.end
