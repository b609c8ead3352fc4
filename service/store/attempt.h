// Passing an error on without ceremony.
//
//   ULLAGE_TRY(connection.execute("BEGIN"));          // returns the error when it failed
//   ULLAGE_TAKE(const auto rows, connection.rows(sql));  // declares `rows`, or returns the error
#pragma once

#include <utility>

#include "engine/base/result.h"

#define ULLAGE_TRY(expression)                                             \
  do {                                                                     \
    if (auto attempt_ = (expression); !attempt_) {                         \
      return tl::unexpected<::ullage::Error>(std::move(attempt_).error()); \
    }                                                                      \
  } while (false)

#define ULLAGE_TAKE_JOIN2(a, b) a##b
#define ULLAGE_TAKE_JOIN(a, b) ULLAGE_TAKE_JOIN2(a, b)
#define ULLAGE_TAKE_AS(name, declaration, expression)                         \
  auto name = (expression);                                                   \
  if (!name) return tl::unexpected<::ullage::Error>(std::move(name).error()); \
  declaration = *std::move(name)
#define ULLAGE_TAKE(declaration, expression) \
  ULLAGE_TAKE_AS(ULLAGE_TAKE_JOIN(attempt_, __LINE__), declaration, expression)
