"""Each engineering subject as a calculator: named inputs to named results."""
