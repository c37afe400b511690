// The forms of what is asked and answered: src/http/schemas/, from which the page's types are made too (web/types.mjs).
//
// Each file there holds `questions`, from "POST add" to the forms of its `request` and `answer`, and the `$defs` they
// use. All files and the book's own schema share one set of names; the form `book` is a whole book.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "reason/fault.h"

namespace lathbook::http {

/// The body of a request, once it fits its form. Faults: what is no JSON, and each thing that does not fit.
[[nodiscard]] reason::Result<nlohmann::json> read_request(std::string_view question, const std::string& body);

/// What of an answer is not as its form says; empty when it fits. A question that has no form throws std::logic_error.
[[nodiscard]] reason::Faults check_answer(std::string_view question, const nlohmann::json& answer);

/// The same of what is answered to whatever cannot be done.
[[nodiscard]] reason::Faults check_refusal(const nlohmann::json& answer);

/// The questions that have a form, "GET book" and so on, in the order of the alphabet.
[[nodiscard]] std::vector<std::string> questions_with_forms();

}  // namespace lathbook::http
