"""Reading and writing workbooks: the only place that knows openpyxl."""
