"""Files that are no .xlsx workbook, read into the same grids: .xls workbooks, OpenDocument sheets, tables of text."""
