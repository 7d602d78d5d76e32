"""One verb a module, one transaction each; clock, ids and seeds are passed in."""
