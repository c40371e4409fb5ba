"""What the processing of a workbook costs, beside what its plain loading and saving costs on the same machine."""
