; What folds.

[(system_body) (body) (curve)] @fold
