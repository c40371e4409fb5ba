"""The package behind an .xlsx or .xlsm workbook: opened with care, read part by part, carried with what is added."""
