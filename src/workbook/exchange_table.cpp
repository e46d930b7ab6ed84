#include "workbook/exchange_table.hpp"

#include <algorithm>

#include "workbook/rows.hpp"

namespace sw {
namespace {

constexpr std::size_t kMostCells = 2000;

Error malformed(std::size_t line, std::string cause, std::string remedy) {
    return {Fault::table_malformed, "", "line " + std::to_string(line), std::move(cause), std::move(remedy)};
}

/// Walks the text once; a row is handed on when its line ends outside quotes.
class RowReader {
public:
    RowReader(std::string_view text, char delimiter) : text_(text), delimiter_(delimiter) {}

    Result<std::vector<TextRow>> rows() {
        std::vector<TextRow> found;
        while (at_ < text_.size()) {
            TextRow row{line_, {}};
            for (bool more = true; more;) {
                if (row.cells.size() == kMostCells) return malformed(row.line, "has more than 2000 cells", "see that it is a table of colors");
                const std::size_t opened = line_;
                if (!cell(row.cells)) return malformed(opened, "a double quote has no end", "close it, or double it where a quote is meant");
                more = at_ < text_.size() && text_[at_] == delimiter_;
                if (more) ++at_;
            }
            line_end();
            if (std::any_of(row.cells.begin(), row.cells.end(), [](const std::string& c) { return !c.empty(); })) found.push_back(std::move(row));
        }
        return found;
    }

private:
    // False: an open quote.
    bool cell(std::vector<std::string>& cells) {
        while (at_ < text_.size() && (text_[at_] == ' ' || (text_[at_] == '\t' && delimiter_ != '\t'))) ++at_;
        std::string text;
        const bool quoted = at_ < text_.size() && text_[at_] == '"';
        if (quoted && !quoted_part(text)) return false;
        const std::size_t start = at_;
        while (at_ < text_.size() && text_[at_] != delimiter_ && text_[at_] != '\n' && text_[at_] != '\r') ++at_;
        const std::string rest = store::trimmed(text_.substr(start, at_ - start));
        cells.push_back(quoted ? text + rest : rest);
        return true;
    }
    bool quoted_part(std::string& text) {
        for (++at_; at_ < text_.size(); ++at_) {
            if (text_[at_] == '\n') ++line_;
            if (text_[at_] != '"') {
                text += text_[at_];
            } else if (at_ + 1 < text_.size() && text_[at_ + 1] == '"') {
                text += text_[++at_];
            } else {
                ++at_;
                return true;
            }
        }
        return false;
    }
    void line_end() {
        if (at_ < text_.size() && text_[at_] == '\r') ++at_;
        if (at_ < text_.size() && text_[at_] == '\n') ++at_;
        ++line_;
    }

    std::string_view text_;
    char delimiter_;
    std::size_t at_ = 0, line_ = 1;
};

}  // namespace

Result<std::vector<TextRow>> parse_rows(std::string_view text, char delimiter) {
    if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
    if (const auto zero = text.find('\0'); zero != std::string_view::npos) {
        const auto line = static_cast<std::size_t>(std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(zero), '\n')) + 1;
        return malformed(line, "holds a zero byte: this is no text in UTF-8", "save it as CSV in UTF-8");
    }
    return RowReader(text, delimiter).rows();
}

std::string comma_row(const std::vector<std::string>& cells) {
    std::string row;
    for (const std::string& cell : cells) {
        if (&cell != &cells.front()) row += ',';
        // blanks at the ends would be taken off by many a reader
        const bool plain = cell.find_first_of(",\"\r\n") == std::string::npos && (cell.empty() || (cell.front() != ' ' && cell.back() != ' '));
        if (plain) {
            row += cell;
            continue;
        }
        row += '"';
        for (const char c : cell) row += c == '"' ? "\"\"" : std::string(1, c);
        row += '"';
    }
    return row + "\r\n";
}

}  // namespace sw
