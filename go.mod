module crownassay

go 1.26
