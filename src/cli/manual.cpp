#include "cli/manual.hpp"

#include <algorithm>
#include <sstream>
#include <vector>

#include "cli/request.hpp"
#include "workbook/workbook.hpp"

namespace sw {
namespace {

std::string help_of(const std::string& command) {
    const auto request = parse_command_line({command, "--help"});
    const auto* help = request ? std::get_if<HelpRequest>(&*request) : nullptr;
    if (help == nullptr) return {};
    std::string text = help->text;
    const std::string here = default_workbook_path().string();  // nobody else's
    for (std::size_t at = text.find(here); !here.empty() && at != std::string::npos; at = text.find(here))
        text.replace(at, here.size(), "~/.local/share/swatchwright/workbook.swb");
    return text;
}

/// As man's macros want it.
std::string roff(const std::string& text) {
    std::string result;
    bool at_start = true;
    for (const char c : text) {
        if (at_start && (c == '.' || c == '\'')) result += "\\&";
        if (c == '\\') {
            result += "\\e";
        } else if (c == '-') {
            result += "\\-";
        } else {
            result += c;
        }
        at_start = c == '\n';
    }
    return result;
}

std::vector<std::string> lines_of(const std::string& text) {
    std::vector<std::string> lines;
    std::istringstream in(text);
    for (std::string line; std::getline(in, line);) lines.push_back(line);
    return lines;
}

std::vector<std::string> options_of(const std::string& help) {
    std::vector<std::string> options;
    for (const std::string& line : lines_of(help)) {
        const std::size_t at = line.find("--");
        if (at == std::string::npos || line.find_first_not_of(' ') > 6 || line.substr(0, at).find_first_not_of(" -h,") != std::string::npos) continue;
        options.push_back(line.substr(at, line.find_first_of(" ,", at) - at));
    }
    return options;
}

/// "add", "list", "show", "remove" of "swatchwright target show|remove NAME".
std::vector<std::string> actions_of(const std::string& command, const std::string& help) {
    std::vector<std::string> actions;
    const std::string start = "  swatchwright " + command + " ";
    for (const std::string& line : lines_of(help)) {
        if (!line.starts_with(start)) continue;
        std::string word = line.substr(start.size(), line.find(' ', start.size()) - start.size());
        if (word.empty() || word.find_first_not_of("abcdefghijklmnopqrstuvwxyz|") != std::string::npos) continue;
        std::replace(word.begin(), word.end(), '|', ' ');
        std::istringstream in(word);
        for (std::string one; in >> one;) {
            if (std::find(actions.begin(), actions.end(), one) == actions.end()) actions.push_back(one);
        }
    }
    return actions;
}

std::string joined(const std::vector<std::string>& words) {
    std::string text;
    for (const std::string& word : words) text += (text.empty() ? "" : " ") + word;
    return text;
}

}  // namespace

std::string manual_page() {
    std::string page = ".TH SWATCHWRIGHT 1 \"\" \"swatchwright " SW_VERSION
                       "\"\n.SH NAME\nswatchwright \\- colors from photos, for people who match paint\n.SH SYNOPSIS\n.B swatchwright\n.I COMMAND\n"
                       "[\\fIOPTIONS\\fR]\n.SH DESCRIPTION\n.nf\n" +
                       roff(help_of("help")) + ".fi\n.SH COMMANDS\n";
    for (const std::string& command : command_list()) page += ".SS " + command + "\n.nf\n" + roff(help_of(command)) + ".fi\n";
    return page;
}

std::string bash_completion() {
    std::string script =
        "# bash completion of swatchwright\n_swatchwright() {\n    local current=${COMP_WORDS[COMP_CWORD]} actions='' options=''\n    COMPREPLY=()\n"
        "    if ((COMP_CWORD == 1)); then\n        mapfile -t COMPREPLY < <(compgen -W '" +
        joined(command_list()) + " --help --version' -- \"$current\")\n        return\n    fi\n    case ${COMP_WORDS[1]} in\n";
    for (const std::string& command : command_list()) {
        const std::string help = help_of(command);
        script += "    " + command + ")\n        actions='" + joined(actions_of(command, help)) + "'\n        options='" + joined(options_of(help)) +
                  "'\n        ;;\n";
    }
    return script +
           "    esac\n    if [[ $current == -* ]]; then\n        mapfile -t COMPREPLY < <(compgen -W \"$options\" -- \"$current\")\n"
           "    elif ((COMP_CWORD == 2)) && [[ -n $actions ]]; then\n        mapfile -t COMPREPLY < <(compgen -W \"$actions\" -- \"$current\")\n"
           "    else\n        mapfile -t COMPREPLY < <(compgen -f -- \"$current\")\n    fi\n}\n"
           "complete -o filenames -o bashdefault -F _swatchwright swatchwright\n";
}

}  // namespace sw
