"""What no plan of runs can cost less than: the linear program over columns, its prices, what a bound rests on."""
