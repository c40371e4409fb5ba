// Made javascript_day.xlsx: `npm install exceljs@4.4.0`, then `node javascript_day.mjs javascript_day.xlsx`.
// An invented day, worked by hand in tests/logbook.py (plain_log), with what such a library can put into a workbook.
import ExcelJS from "exceljs";

const book = new ExcelJS.Workbook();
book.creator = "Invented laboratory";
book.created = book.modified = new Date(Date.UTC(2026, 9, 14));

const setup = book.addWorksheet("Setup", { properties: { tabColor: { argb: "FF336699" } } });
setup.addRow(["Item", "Value", "Unit", "Source", "In force from"]);
const since = new Date(Date.UTC(2026, 9, 1));
for (const row of [
  ["Laboratory", "Invented laboratory"],
  ["Batch date", new Date(Date.UTC(2026, 9, 14))],
  ["Analyst", "A"],
  ["Reviewer", "B"],
  ["Method", "lab"],
  ["Acid scheme", "none"],
  ["Comparison basis", "ad"],
  ["Repeatability limit", 120, "J/g", "own"],
  ["Heat-capacity life", 90, "days", "own"],
  ["Fixed ignition heat", 60, "J", "own"],
  ["Effective heat capacity", 10000, "J/K", "own series", since],
]) setup.addRow(row);
setup.getCell("B8").dataValidation = { type: "decimal", operator: "between", formulae: [1, 500] };
setup.protect("word", { selectLockedCells: true });

const runs = book.addWorksheet("Runs", {
  views: [{ state: "frozen", xSplit: 1, ySplit: 1 }],
  pageSetup: { fitToPage: true, fitToWidth: 1, fitToHeight: 0, printArea: "A1:D3" },
});
runs.addRow(["Firing no.", "Sample no.", "Sample mass (g)", "Temperature rise (K)", "Remark"]);
runs.addRow([1, "S1", 1, 2.5]);
runs.addRow([2, "S1", { formula: "0.5+0.5", result: 1 }, 2.505]);
runs.getCell("E2").value = { richText: [{ text: "plain and " }, { font: { bold: true }, text: "bold" }] };
runs.getCell("E3").value = { text: "a link", hyperlink: "https://example.org/" };
runs.getCell("A1").note = "The number of the firing.";
runs.getColumn(4).outlineLevel = 1;
runs.addConditionalFormatting({
  ref: "D2:D9",
  rules: [{ type: "cellIs", operator: "greaterThan", formulae: [4], style: { font: { bold: true } } }],
});
runs.mergeCells("A12:C12");
runs.getCell("A12").value = "Merged";

const samples = book.addWorksheet("Samples");
samples.addTable({
  name: "SampleTable",
  ref: "A1",
  headerRow: true,
  columns: [{ name: "Sample no.", filterButton: true }, { name: "Moisture, analysis (%)" }],
  rows: [["S1", 4]],
});
const picture =
  "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==";
const image = book.addImage({ base64: picture, extension: "png" });
samples.addImage(image, { tl: { col: 4, row: 1 }, br: { col: 7, row: 6 } });

const hidden = book.addWorksheet("Old", { state: "hidden" });
hidden.addRow([1, 2, { formula: "A1+B1", result: 3 }]);
book.definedNames.add("Old!$A$1:$B$1", "OldFigures");

await book.xlsx.writeFile(process.argv[2]);
