#!/usr/bin/python3
"""Makes the workbooks beside it, with Debian's python3-openpyxl. Lifters and numbers are invented.

Each is laid out in another way that coaches use; service/interchange/workbook_test.cc says what is read from them. Run it
only to change one of them: the files are kept as they are.
"""
import datetime
import pathlib
import zipfile

from openpyxl import Workbook
from openpyxl.comments import Comment
from openpyxl.utils.datetime import CALENDAR_MAC_1904

HERE = pathlib.Path(__file__).parent
day = datetime.date


def save(book, name):
    book.save(HERE / name)


# 1. One row a set, typed days, RPE, units in the header.
book = Workbook()
sheet = book.active
sheet.title = "Training"
sheet.append(["Who", "Date", "Lift", "Weight (kg)", "Reps", "RPE", "Notes"])
for row in [
    ["Ida Roos", day(2026, 3, 9), "squat", 100, 8, 8, ""],
    ["Ida Roos", day(2026, 3, 9), "squat", 102.5, 7, 9.5, "slow"],
    ["Bo Falk", day(2026, 3, 10), "bench press", 60, 10, 7, ""],
]:
    sheet.append(row)
save(book, "row-a-set.xlsx")

# 2. A sheet for each lifter under a title, a summary that is none, text days, half reps in reserve.
book = Workbook()
book.remove(book.active)
for name, rows in {
    "Ida Roos": [["9.3.2026", "squat", "100", "8", "2"], ["13.3.2026", "squat", "102.5", "6", "1.5"]],
    "Bo Falk": [["10.3.2026", "bench press", "60", "10", "5+"]],
}.items():
    sheet = book.create_sheet(name)
    sheet["A1"] = "Spring block"
    sheet.append([])
    sheet.append(["Day", "Exercise", "kg", "Reps", "RIR"])
    for row in rows:
        sheet.append(row)
summary = book.create_sheet("Summary")
summary.append(["Lifter", "Tonnage"])
summary.append(["Ida Roos", 1415])
save(book, "lifter-a-sheet.xlsx")

# 3. A row an exercise, sets across as one cell each, days joined downwards, RPE after @.
book = Workbook()
sheet = book.active
sheet.title = "Ida Roos"
sheet.append(["Date", "Exercise", "Set 1", "Set 2", "Set 3", "Comment"])
sheet.append([day(2026, 3, 9), "squat", "100x8 @7", "100x8 @8", "102.5x6 @9.5", "belt"])
sheet.append([None, "bench press", "60x8 @8", "60x8 F", "-", None])
sheet.append([day(2026, 3, 12), "squat", "105x5 @8 (grinder)", None, None, None])
sheet.merge_cells("A2:A3")
sheet["C2"].comment = Comment("felt light", "coach")
save(book, "sets-across.xlsx")

# 4. Two header rows, the upper one joined over load, reps and RPE of each set.
book = Workbook()
sheet = book.active
sheet.title = "Bo Falk"
sheet.append(["Date", "Exercise", "Set 1", None, None, "Set 2", None, None])
sheet.append([None, None, "kg", "Reps", "RPE", "kg", "Reps", "RPE"])
sheet.merge_cells("A1:A2")
sheet.merge_cells("B1:B2")
sheet.merge_cells("C1:E1")
sheet.merge_cells("F1:H1")
sheet.append([day(2026, 3, 9), "deadlift", 140, 5, 8, 140, 5, 8.5])
sheet.append([day(2026, 3, 9), "bench press", 70, 8, 9, None, None, None])
save(book, "two-header-rows.xlsx")

# 5. A sheet a block: exercises down, days across, several sets in a cell; the lifter stands above the table.
book = Workbook()
book.remove(book.active)
for title, days in {"Block 1": [day(2026, 1, 5), day(2026, 1, 8)], "Block 2": [day(2026, 2, 2)]}.items():
    sheet = book.create_sheet(title)
    sheet["A1"] = "Lifter"
    sheet["B1"] = "Ida Roos"
    sheet["A3"] = "Exercise"
    for column, date in enumerate(days, start=2):
        sheet.cell(3, column, date)
    sheet["A4"] = "squat"
    sheet["A5"] = "bench press"
    for column in range(2, 2 + len(days)):
        sheet.cell(4, column, "100x8, 100x8, 102.5x6")
        sheet.cell(5, column, "60x10; 60x9")
save(book, "days-across.xlsx")

# 6. Days counted from 1904, one of them without a format, and a time of rest.
book = Workbook()
book.epoch = CALENDAR_MAC_1904
sheet = book.active
sheet.title = "Log"
sheet.append(["Name", "Date", "Exercise", "Load kg", "Reps", "Rest"])
sheet.append(["Ida Roos", datetime.datetime(2026, 3, 9, 18, 40), "squat", 100, 8, None])
sheet.append(["Ida Roos", (day(2026, 3, 10) - day(1904, 1, 1)).days, "squat", 100, 8, datetime.time(2, 30)])
sheet["F3"].number_format = "h:mm"
save(book, "from-1904.xlsx")

# 7. Days as headings between the rows, the header repeated, hidden rows, pounds.
book = Workbook()
sheet = book.active
sheet.title = "Kim Aune"
sheet.append(["Movement", "Weight (lb)", "Reps", "RIR"])
sheet.append(["Mon 9 Mar 2026"])
sheet["A2"] = "9 Mar 2026"
sheet.append(["squat", 225, 5, 2])
sheet.append(["squat", 225, 5, 1])
sheet.append(["Movement", "Weight (lb)", "Reps", "RIR"])
sheet["A6"] = "12 Mar 2026"
sheet.append(["bench press", 135, 8, 3])
sheet.append(["bench press", 45, 20, None])
sheet.row_dimensions[8].hidden = True
save(book, "days-as-headings.xlsx")

# 8. Load beside a list of reps, the exercise once for several rows, sets x reps elsewhere in words.
book = Workbook()
sheet = book.active
sheet.title = "Bo Falk"
sheet.append(["Date", "Exercise", "Load (kg)", "Reps"])
sheet.append([day(2026, 3, 9), "squat", 100, "8, 8, 6"])
sheet.append([None, None, 105, "5"])
sheet.append([day(2026, 3, 11), "bench press", 60, "10/9/8"])
save(book, "list-of-reps.xlsx")

# 9. Decimal commas, semicolons between sets, German names, sets x reps with the load in a column of its own.
book = Workbook()
sheet = book.active
sheet.title = "Ida Roos"
sheet.append(["Datum", "Übung", "Gewicht kg", "Sätze"])
sheet.append(["09.03.2026", "squat", "102,5", "3x5"])
sheet.append(["13.03.2026", "squat", "105", "2x4"])
save(book, "decimal-comma.xlsx")

# 10. The same column names for each set, told apart by counting only.
book = Workbook()
sheet = book.active
sheet.title = "Ida Roos"
sheet.append(["Date", "Exercise", "kg", "Reps", "kg", "Reps"])
sheet.append([day(2026, 3, 9), "squat", 100, 8, 100, 7])
sheet.append([day(2026, 3, 9), "bench press", 60, 10, None, None])
save(book, "names-again.xlsx")

# 11. OpenDocument, written part by part.
CONTENT = """<?xml version="1.0" encoding="UTF-8"?>
<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
 xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"
 office:version="1.2"><office:body><office:spreadsheet><table:table table:name="Ida Roos">
<table:table-row><table:table-cell office:value-type="string"><text:p>Date</text:p></table:table-cell>
<table:table-cell office:value-type="string"><text:p>Exercise</text:p></table:table-cell>
<table:table-cell office:value-type="string"><text:p>kg</text:p></table:table-cell>
<table:table-cell office:value-type="string"><text:p>Reps</text:p></table:table-cell></table:table-row>
<table:table-row><table:table-cell office:value-type="date" office:date-value="2026-03-09"
 table:number-rows-spanned="3"><text:p>09.03.26</text:p></table:table-cell>
<table:table-cell office:value-type="string"><text:p>squat</text:p></table:table-cell>
<table:table-cell office:value-type="float" office:value="102.5"><text:p>102,50</text:p></table:table-cell>
<table:table-cell office:value-type="float" office:value="8"><text:p>8</text:p></table:table-cell></table:table-row>
<table:table-row table:number-rows-repeated="2"><table:covered-table-cell/>
<table:table-cell office:value-type="string"><text:p>bench<text:s/>press</text:p></table:table-cell>
<table:table-cell office:value-type="float" office:value="60"><text:p>60</text:p></table:table-cell>
<table:table-cell office:value-type="float" office:value="10"><office:annotation><text:p>easy</text:p></office:annotation>
<text:p>10</text:p></table:table-cell></table:table-row>
<table:table-row table:number-rows-repeated="1048000"><table:table-cell table:number-columns-repeated="16384"/></table:table-row>
</table:table></office:spreadsheet></office:body></office:document-content>
"""
with zipfile.ZipFile(HERE / "open-document.ods", "w", zipfile.ZIP_DEFLATED) as ods:
    ods.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet", zipfile.ZIP_STORED)
    ods.writestr("content.xml", CONTENT)
