"""What people and programs read of an Evaluation: the results document and the summary page."""
