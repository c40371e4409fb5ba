"""Reading a lab's own sheets as they stand: a map says which column is what, and is proposed with its evidence."""
