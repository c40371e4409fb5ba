// Made every_kind.xlsx and every_kind_1904.xlsx: `npm install exceljs@4.4.0`, then under Node.js 20
// `node every_kind.mjs every_kind.xlsx` and `node every_kind.mjs every_kind_1904.xlsx 1904`.
// Every kind of content that such a library can put into a cell; the figures are invented.
import ExcelJS from "exceljs";

const [, , file, epoch] = process.argv;
const book = new ExcelJS.Workbook();
book.creator = "Invented laboratory";
book.created = book.modified = new Date(Date.UTC(2026, 9, 14));
if (epoch === "1904") book.properties.date1904 = true;

const sheet = book.addWorksheet("Kinds");
sheet.addRow(["Number", "Text", "Truth", "Date", "Per cent", "Formula", "Shared"]);
for (let row = 2; row <= 9; row += 1) {
  sheet.addRow([
    row * 1.0001, row % 2 ? "S1" : "S2", row % 2 === 0, new Date(Date.UTC(2026, 9, row, 8, 30)), row / 100,
    { formula: `A${row}*2`, result: row * 2.0002 },
  ]);
  sheet.getCell(`D${row}`).numFmt = "yyyy-mm-dd hh:mm";
  sheet.getCell(`E${row}`).numFmt = "0.0%";
}
sheet.getCell("G2").value = { formula: "$A2+B$1", shareType: "shared", ref: "G2:G9", result: 3 };
for (let row = 3; row <= 9; row += 1) sheet.getCell(`G${row}`).value = { sharedFormula: "G2", result: row };
sheet.addRow([]);
sheet.addRow([
  { error: "#N/A" }, { richText: [{ text: "plain and " }, { font: { bold: true }, text: "bold" }] },
  { text: "a link", hyperlink: "https://example.org/" }, 1e300, -0.1, "  ", "línea\nnueva \u0007 & <b>",
]);
sheet.addRow([
  { formula: "1/0", result: { error: "#DIV/0!" } }, { formula: '"a"&"b"', result: "ab" },
  { formula: "1=1", result: true }, { formula: "A1" }, { formula: '""', result: "" },
  { formula: "TODAY()", result: new Date(Date.UTC(2026, 9, 14)) },
]);
sheet.getCell("H2").value = new Date(Date.UTC(1899, 11, 30, 8, 30));
sheet.getCell("H2").numFmt = "hh:mm";
sheet.getCell("H3").value = 1.25;
sheet.getCell("H3").numFmt = "[h]:mm";
sheet.getCell("A4").font = { strike: true };
sheet.getRow(5).hidden = true;
sheet.autoFilter = "A1:G9";
sheet.mergeCells("A14:C15");
sheet.getCell("A14").value = "Merged";
sheet.getCell("J20").fill = { type: "pattern", pattern: "solid", fgColor: { argb: "FFFFFF00" } };

book.addWorksheet("Empty");
book.addWorksheet("Hidden", { state: "veryHidden" }).addRow(["old", 1]);

await book.xlsx.writeFile(file);
