"""From records and engineering to a work sheet: pure, no store and no clock."""
