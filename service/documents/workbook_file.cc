#include "service/documents/workbook_file.h"

#include <unistd.h>
#include <xlsxwriter.h>

#include <algorithm>
#include <cctype>
#include <cstdio>
#include <filesystem>

namespace ullage::documents {
namespace {

constexpr lxw_row_t kMostRows = 1048575;  // below the header

lxw_datetime moment_of(Date date, int seconds) {
  const std::string iso = date_text(date);
  lxw_datetime out{};
  out.year = std::stoi(iso.substr(0, 4));
  out.month = std::stoi(iso.substr(5, 2));
  out.day = std::stoi(iso.substr(8, 2));
  out.hour = seconds / 3600;
  out.min = seconds / 60 % 60;
  out.sec = seconds % 60;
  return out;
}

// A text that looks like an escaped sign, _x000D_, is read as that sign: its underscore is escaped itself (ECMA-376
// part 1, 22.9.2.19).
std::string with_signs_told_apart(const std::string& text) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    bool looks = text.compare(i, 2, "_x") == 0 && i + 6 < text.size() && text[i + 6] == '_';
    for (std::size_t j = i + 2; looks && j < i + 6; ++j)
      looks = std::isxdigit(static_cast<unsigned char>(text[j])) != 0;
    out += looks ? std::string("_x005F_") : std::string(1, text[i]);
  }
  return out;
}

struct Formats {
  lxw_format *header, *date, *date_time, *date_seconds;
  std::vector<lxw_format*> decimals;
};

Result<void> put(lxw_worksheet* sheet, lxw_row_t row, lxw_col_t column, const CellValue& value, const SheetColumn& of,
                 const Formats& formats) {
  lxw_error error = LXW_NO_ERROR;
  if (const auto* text = std::get_if<std::string>(&value)) {
    error = worksheet_write_string(sheet, row, column, with_signs_told_apart(*text).c_str(), nullptr);
  } else if (const auto* number = std::get_if<double>(&value)) {
    lxw_format* format = of.decimals && *of.decimals < 6
                             ? formats.decimals[static_cast<std::size_t>(std::max(*of.decimals, 0))]
                             : nullptr;
    error = worksheet_write_number(sheet, row, column, *number, format);
  } else if (const auto* date = std::get_if<Date>(&value)) {
    lxw_datetime moment = moment_of(*date, 0);
    error = worksheet_write_datetime(sheet, row, column, &moment, formats.date);
  } else if (const auto* both = std::get_if<DayAndTime>(&value)) {
    lxw_datetime moment = moment_of(both->date, both->seconds);
    error = worksheet_write_datetime(sheet, row, column, &moment,
                                     both->with_seconds ? formats.date_seconds : formats.date_time);
  } else if (const auto* yes = std::get_if<bool>(&value)) {
    error = worksheet_write_number(sheet, row, column, *yes ? 1 : 0, nullptr);
  }
  if (error == LXW_NO_ERROR) return {};
  return fail(Code::invalid_input, std::string("sheet ") + sheet->name + ", row " + std::to_string(row + 1) +
                                       ", column " + of.name + ": " + lxw_strerror(error));
}

void put_chart(lxw_workbook* book, lxw_worksheet* sheet, const WorkbookSheet& from, const SheetChart& chart,
               std::size_t place) {
  lxw_chart* drawn = workbook_add_chart(book, LXW_CHART_SCATTER_STRAIGHT);
  for (const std::size_t column : chart.series) {
    lxw_chart_series* series = chart_add_series(drawn, nullptr, nullptr);
    const auto first = static_cast<lxw_row_t>(chart.first_row), last = static_cast<lxw_row_t>(chart.last_row);
    chart_series_set_categories(series, sheet->name, first, static_cast<lxw_col_t>(chart.x), last,
                                static_cast<lxw_col_t>(chart.x));
    chart_series_set_values(series, sheet->name, first, static_cast<lxw_col_t>(column), last,
                            static_cast<lxw_col_t>(column));
    chart_series_set_name(series, from.columns[column].name.c_str());
  }
  chart_title_set_name(drawn, chart.title.c_str());
  chart_axis_set_name(drawn->y_axis, chart.y_title.c_str());
  chart_axis_set_num_format(drawn->x_axis, "yyyy-mm-dd");
  worksheet_insert_chart(sheet, static_cast<lxw_row_t>(1 + place * 16), static_cast<lxw_col_t>(from.columns.size() + 1),
                         drawn);
}

}  // namespace

Result<void> write_workbook(const std::string& path, const std::vector<WorkbookSheet>& sheets) {
  const std::string part = path + "." + std::to_string(::getpid()) + ".part";
  lxw_workbook_options options{};
  options.constant_memory = LXW_TRUE;
  lxw_workbook* book = workbook_new_opt(part.c_str(), &options);
  if (book == nullptr) return fail(Code::unavailable, path + " cannot be written");
  Formats formats{
      workbook_add_format(book), workbook_add_format(book), workbook_add_format(book), workbook_add_format(book), {}};
  format_set_bold(formats.header);
  format_set_bottom(formats.header, LXW_BORDER_THIN);
  format_set_num_format(formats.date, "yyyy-mm-dd");
  format_set_num_format(formats.date_time, "yyyy-mm-dd hh:mm");
  format_set_num_format(formats.date_seconds, "yyyy-mm-dd hh:mm:ss");
  for (const char* code : {"0", "0.0", "0.00", "0.000", "0.0000", "0.00000"}) {
    formats.decimals.push_back(workbook_add_format(book));
    format_set_num_format(formats.decimals.back(), code);
  }
  Result<void> result;
  std::vector<CellValue> values;
  for (const WorkbookSheet& from : sheets) {
    bool more = true;
    for (int number = 1; more && result; ++number) {
      const std::string name = number == 1 ? from.name : from.name + " " + std::to_string(number);
      lxw_worksheet* sheet = workbook_add_worksheet(book, name.c_str());
      if (sheet == nullptr) {
        result = fail(Code::invalid_input, "a sheet cannot be called \"" + name + "\"");
        break;
      }
      for (std::size_t i = 0; i < from.columns.size(); ++i) {
        worksheet_set_column(sheet, static_cast<lxw_col_t>(i), static_cast<lxw_col_t>(i), from.columns[i].width,
                             nullptr);
        worksheet_write_string(sheet, 0, static_cast<lxw_col_t>(i), from.columns[i].name.c_str(), formats.header);
      }
      worksheet_freeze_panes(sheet, 1, 0);
      lxw_row_t row = 1;
      for (; row <= kMostRows && result; ++row) {
        values.clear();
        const auto next = from.next(values);
        if (!next) {
          result = tl::unexpected<Error>(next.error());
          break;
        }
        more = *next;
        if (!more) break;
        for (std::size_t i = 0; i < values.size() && i < from.columns.size() && result; ++i) {
          result = put(sheet, row, static_cast<lxw_col_t>(i), values[i], from.columns[i], formats);
        }
      }
      if (row > 1) worksheet_autofilter(sheet, 0, 0, row - 1, static_cast<lxw_col_t>(from.columns.size() - 1));
      if (number == 1) {
        for (std::size_t i = 0; i < from.charts.size(); ++i) put_chart(book, sheet, from, from.charts[i], i);
      }
    }
    if (!result) break;
  }
  const lxw_error closed = workbook_close(book);
  std::error_code problem;
  if (result && closed != LXW_NO_ERROR)
    result = fail(Code::unavailable, path + " cannot be written: " + lxw_strerror(closed));
  if (result) {
    std::filesystem::rename(part, path, problem);
    if (problem) result = fail(Code::unavailable, path + " cannot be written: " + problem.message());
  }
  if (!result) std::filesystem::remove(part, problem);
  return result;
}

}  // namespace ullage::documents
