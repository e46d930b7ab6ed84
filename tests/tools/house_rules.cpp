#include "tools/house_rules.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <map>
#include <optional>
#include <regex>
#include <sstream>

namespace house {
namespace {

const std::map<std::string, int>& ranks() {
    static const std::map<std::string, int> table = {{"color", 0}, {"spectral", 1}, {"photo", 2}, {"calibrate", 3}, {"match", 4},
                                                     {"mix", 5},   {"workbook", 6}, {"sheet", 7}, {"cli", 8},       {"viewer", 8}};
    return table;
}
constexpr int kDoors = 8;  // rank of cli and viewer

std::vector<std::string> lines_of(const std::string& text) {
    std::vector<std::string> lines;
    std::istringstream stream(text);
    for (std::string line; std::getline(stream, line);) lines.push_back(line);
    return lines;
}

std::string trimmed(const std::string& text) {
    const auto first = std::find_if(text.begin(), text.end(), [](unsigned char c) { return !std::isspace(c); });
    const auto last = std::find_if(text.rbegin(), text.rend(), [](unsigned char c) { return !std::isspace(c); }).base();
    return first < last ? std::string(first, last) : std::string();
}

bool has(const std::string& text, const char* pattern) { return std::regex_search(text, std::regex(pattern)); }

/// Takes off "template <...>", attributes and access labels, which say nothing about what is declared.
std::string bare_declaration(std::string text) {
    text = trimmed(std::regex_replace(text, std::regex(R"(\[\[[^\]]*\]\])"), " "));
    text = trimmed(std::regex_replace(text, std::regex(R"(^((public|protected|private)\s*:\s*)+)"), ""));
    while (text.starts_with("template")) {
        const std::size_t open = text.find('<');
        if (open == std::string::npos) break;
        int depth = 0;
        std::size_t at = open;
        for (; at < text.size(); ++at) {
            if (text[at] == '<') ++depth;
            if (text[at] == '>' && --depth == 0) break;
        }
        if (at >= text.size()) break;
        text = trimmed(text.substr(at + 1));
    }
    return std::regex_replace(text, std::regex(R"(\boperator\s*[^\s\w(]+)"), "operator_");
}

std::string without_template_arguments(const std::string& text) {
    std::string out;
    int depth = 0;
    for (const char c : text) {
        if (c == '<') ++depth;
        if (depth == 0) out += c;
        if (c == '>' && depth > 0) --depth;
    }
    return out;
}

/// True inside a list of arguments.
bool has_open_parenthesis(const std::string& text) { return std::count(text.begin(), text.end(), '(') > std::count(text.begin(), text.end(), ')'); }

/// True if a parenthesis comes before any "=": a function, or something called.
bool looks_like_function(const std::string& declaration) {
    const std::size_t paren = declaration.find('(');
    return paren != std::string::npos && paren < declaration.find('=');
}

bool is_constant(const std::string& declaration) {
    const std::string left = without_template_arguments(declaration.substr(0, declaration.find_first_of("={")));
    if (has(left, R"(\bconstexpr\b)")) return true;
    const std::size_t at = left.rfind("const");
    if (at == std::string::npos || !has(left, R"(\bconst\b)")) return false;
    // "const char* name" can be made to point elsewhere; "const char* const name" cannot.
    return left.find('*', at) == std::string::npos;
}

enum class Scope { names, type, code, value };

/// Finds variables that can change. Walks the code once, keeping the kind of each brace.
void find_globals(const std::string& code, const std::string& path, std::vector<std::string>& complaints) {
    std::vector<Scope> scopes{Scope::names};
    std::string statement;
    int line = 1;
    int statement_line = 1;

    const auto judge = [&] {
        const std::string declaration = bare_declaration(statement);
        if (declaration.empty()) return;
        const auto complain = [&](const char* what) {
            complaints.push_back(path + ":" + std::to_string(statement_line) + " " + what + ": " + declaration);
        };
        const bool is_static = has(declaration, R"(^(inline\s+|static\s+|thread_local\s+|constinit\s+)*(static|thread_local)\b)");
        switch (scopes.back()) {
            case Scope::names:
                if (has(declaration, R"(^(using|typedef|class|struct|union|enum|namespace|static_assert|friend|extern|concept)\b)")) return;
                if (looks_like_function(declaration) || is_constant(declaration)) return;
                if (has(declaration, R"(^[\w:<>,&*\s]+\s[\w:]+\s*(=|\{|\[|$))")) complain("holds a variable that can change at namespace scope");
                return;
            case Scope::type:
                if (is_static && !looks_like_function(declaration) && !is_constant(declaration)) complain("holds a static member that can change");
                return;
            case Scope::code:
                if (is_static && !is_constant(declaration)) complain("holds a local static that can change");
                return;
            case Scope::value:
                return;
        }
    };

    for (const char c : code) {
        if (c == '\n') ++line;
        if (c == '{') {
            const std::string head = bare_declaration(statement);
            Scope inner = Scope::code;
            if (scopes.back() == Scope::value) {
                inner = Scope::value;
            } else if (has(head, R"(^(inline\s+)?namespace\b|^extern\b\s*$)")) {
                inner = Scope::names;
            } else if (has(head, R"(^(enum)\b)")) {
                inner = Scope::value;
            } else if (has(head, R"(^(class|struct|union)\b)") && !looks_like_function(head)) {
                inner = Scope::type;
            } else if (scopes.back() != Scope::code && (!looks_like_function(head) || has_open_parenthesis(head))) {
                inner = Scope::value;  // an initializer: the statement goes on behind it
            } else if (scopes.back() == Scope::code && has(head, R"(^(static|thread_local)\b)")) {
                inner = Scope::value;
            }
            scopes.push_back(inner);
            if (inner == Scope::value)
                statement += '{';
            else
                statement.clear();
        } else if (c == '}') {
            const Scope closed = scopes.back();
            if (scopes.size() > 1) scopes.pop_back();
            if (closed == Scope::value)
                statement += '}';
            else
                statement.clear();
        } else if (scopes.back() == Scope::value) {
            continue;
        } else if (c == ';') {
            judge();
            statement.clear();
        } else {
            if (trimmed(statement).empty()) statement_line = line;
            statement += c;
        }
    }
}

}  // namespace

std::string without_comments_and_literals(std::string_view text) {
    std::string out(text);
    std::size_t i = 0;
    const auto blank = [&](std::size_t from, std::size_t to) {
        for (std::size_t k = from; k < std::min(to, out.size()); ++k) {
            if (out[k] != '\n') out[k] = ' ';
        }
    };
    while (i < text.size()) {
        if (text.substr(i, 2) == "//") {
            const std::size_t end = std::min(text.find('\n', i), text.size());
            blank(i, end);
            i = end;
        } else if (text.substr(i, 2) == "/*") {
            const std::size_t close = text.find("*/", i + 2);
            const std::size_t end = close == std::string_view::npos ? text.size() : close + 2;
            blank(i, end);
            i = end;
        } else if (text.substr(i, 2) == "R\"" && (i == 0 || (!std::isalnum(static_cast<unsigned char>(text[i - 1])) && text[i - 1] != '_'))) {
            const std::size_t open = text.find('(', i);
            if (open == std::string_view::npos) return out;
            const std::string closing = ")" + std::string(text.substr(i + 2, open - i - 2)) + "\"";
            const std::size_t close = text.find(closing, open);
            const std::size_t end = close == std::string_view::npos ? text.size() : close + closing.size();
            blank(i, end);
            i = end;
        } else if (text[i] == '"' || (text[i] == '\'' && (i == 0 || !std::isalnum(static_cast<unsigned char>(text[i - 1]))))) {
            std::size_t end = i + 1;
            while (end < text.size() && text[end] != text[i] && text[end] != '\n') end += text[end] == '\\' ? 2 : 1;
            blank(i + 1, end);
            i = end + 1;
        } else {
            ++i;
        }
    }
    return out;
}

std::vector<std::string> layer_complaints(std::string_view path_view, std::string_view text) {
    const std::string path(path_view);
    std::vector<std::string> complaints;
    const std::size_t slash = path.find('/');
    const std::string folder = slash == std::string::npos ? "" : path.substr(0, slash);
    const auto rank_at = ranks().find(folder);
    if (!folder.empty() && rank_at == ranks().end()) return {path + ": the folder " + folder + " has no place in the order of layers"};
    const int rank = folder.empty() ? kDoors + 1 : rank_at->second;
    const bool may_print = rank >= kDoors;
    const bool header = path.ends_with(".hpp");

    const std::vector<std::string> lines = lines_of(std::string(text));
    const std::string code = without_comments_and_literals(text);
    const std::vector<std::string> code_lines = lines_of(code);
    static const std::regex include(R"rx(^\s*#\s*include\s*([<"])([^>"]+)[>"])rx");
    static const std::regex window(R"(^(imgui|GLFW/|GL/|GLES|glad/|epoxy/))");
    static const std::regex standard(R"(^[a-z_0-9]+$)");
    static const std::regex printing(
        R"(\bstd\s*::\s*(cout|cerr|clog)\b|(^|[^\w.>])(std\s*::\s*)?(printf|fprintf|vprintf|vfprintf|puts|fputs|putchar|fputc|perror)\s*\()");
    for (std::size_t i = 0; i < lines.size(); ++i) {
        const auto complain = [&](const std::string& what) { complaints.push_back(path + ":" + std::to_string(i + 1) + " " + what); };
        std::smatch match;
        const bool commented = i < code_lines.size() && code_lines[i].find('#') == std::string::npos;
        if (!commented && std::regex_search(lines[i], match, include)) {
            const bool ours = match[1] == "\"";
            const std::string name = match[2];
            const std::size_t cut = name.find('/');
            const std::string other = cut == std::string::npos ? "" : name.substr(0, cut);
            const auto other_rank = ranks().find(other);
            if (other_rank != ranks().end() && ours) {
                if (other != folder && other_rank->second >= rank) complain("includes " + name + ": " + other + " does not stand left of " + folder);
            } else if (name.find("..") != std::string::npos) {
                complain("includes " + name + ": name our files from src/ on");
            }
            if (std::regex_search(name, window) && folder != "viewer")
                complain("includes " + name + ": the window's libraries belong to viewer/ alone");
            if (name == "iostream" && !may_print) complain("includes <iostream>: printing belongs to cli/ and viewer/");
            if (header && !ours && !std::regex_match(name, standard)) {
                if (!name.starts_with("Eigen/")) complain("includes " + name + " in a header: other libraries stay in .cpp files");
                if (name.starts_with("Eigen/") && rank < 1) complain("includes " + name + " in a header of color/, which is plain C++");
            }
        }
        if (!may_print && i < code_lines.size() && std::regex_search(code_lines[i], printing))
            complain("prints: printing belongs to cli/ and viewer/");
    }
    if (rank < kDoors) {
        std::string no_directives;
        bool continued = false;
        for (const std::string& line : code_lines) {
            const bool directive = continued || trimmed(line).starts_with("#");
            continued = directive && line.ends_with("\\");
            no_directives += (directive ? "" : line) + "\n";
        }
        find_globals(no_directives, path, complaints);
    }
    return complaints;
}

std::vector<std::string> own_header_complaints(std::string_view path, std::string_view text) {
    static const std::regex include(R"rx(^\s*#\s*include\s*([<"][^>"]+[>"]))rx");
    const std::string expected = "\"" + std::string(path.substr(0, path.size() - 3)) + "hpp\"";
    for (const std::string& line : lines_of(std::string(text))) {
        std::smatch match;
        if (!std::regex_search(line, match, include)) continue;
        if (match[1] == expected) return {};
        break;
    }
    return {std::string(path) + " does not include its own header first"};
}

std::vector<std::string> text_complaints(std::string_view path_view, std::string_view text) {
    const std::string path(path_view);
    std::vector<std::string> complaints;
    // Written in two parts, so that this file does not complain about itself.
    static const std::array<std::string, 5> own_places = {std::string("/ho") + "me/", std::string("/Us") + "ers/", std::string("/ro") + "ot/",
                                                          std::string("/wo") + "rk/", std::string("C:\\") + "Users"};
    const std::vector<std::string> lines = lines_of(std::string(text));
    for (std::size_t i = 0; i < lines.size(); ++i) {
        const auto complain = [&](const std::string& what) { complaints.push_back(path + ":" + std::to_string(i + 1) + " " + what); };
        if (lines[i].find('\r') != std::string::npos) complain("holds a carriage return");
        if (lines[i].ends_with(' ') || lines[i].ends_with('\t')) complain("ends with a space");
        for (const std::string& place : own_places) {
            for (std::size_t at = lines[i].find(place); at != std::string::npos; at = lines[i].find(place, at + 1)) {
                // "$PWD/work/x" or "a/home/b" is not absolute.
                if (at == 0 || !(std::isalnum(static_cast<unsigned char>(lines[i][at - 1])) ||
                                 std::string_view("._-}/*").find(lines[i][at - 1]) != std::string_view::npos)) {
                    complain("names a place on somebody's own computer: " + place);
                }
            }
        }
    }
    return complaints;
}

}  // namespace house
