module example.org/sums

go 1.26.0
