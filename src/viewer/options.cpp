#include "viewer/options.hpp"

#include <charconv>

#include "viewer/script.hpp"

namespace sw::window {
namespace {

template <class T>
std::optional<T> read_as(std::string_view text) {
    T value{};
    const auto end = std::from_chars(text.data(), text.data() + text.size(), value);
    if (end.ec != std::errc() || end.ptr != text.data() + text.size()) return std::nullopt;
    return value;
}

}  // namespace

std::string window_help() {
    std::string text =
        "Open the window.\n\nUsage:\n  swatchwright window [PHOTO] [OPTIONS]\n\n"
        "  PHOTO              A photo to begin with\n"
        "  --workbook FILE    The workbook (if not said: swatchwright/workbook.swb in XDG_DATA_HOME)\n"
        "  --lit-by LIGHT     The light that lit the photo\n"
        "  --demo FOLDER      Begin with the demo's photo\n"
        "  --size WxH         Size of the window, from 640x480\n"
        "  --scale FACTOR     Size of letters and buttons, 0.5 to 4 (if not said: as the desktop has it)\n"
        "  --script FILE      Do what the file says, line by line; lines below\n"
        "  --screenshot FILE  Show no window; save a picture of it (PNG) when the script has ended\n"
        "  --timings FILE     With --screenshot: how long the first frame, the photo and the frames took (JSON)\n"
        "  --letter-gap PX    Letters so far apart, 0 to 10: how longer words would fit\n"
        "  -h, --help         These words\n\n"
        "A script has one command a line; # begins a comment, expect-error stands before a line that must fail.\n";
    for (const auto* forms : {&command_forms(), &view_command_forms()}) {
        for (const std::string& form : *forms) text += "  " + form + "\n";
    }
    return text;
}

Result<Options> parse_options(const std::vector<std::string>& arguments) {
    Options options;
    const auto bad = [](const std::string& place, const std::string& cause, const std::string& remedy) {
        return Error{.fault = Fault::bad_usage, .file = {}, .place = place, .cause = cause, .remedy = remedy};
    };
    for (std::size_t i = 0; i < arguments.size(); ++i) {
        std::string name = arguments[i];
        if (!name.starts_with("--")) {
            if (!options.photo.empty()) return bad(name, "only one photo can be opened", "leave out the second one");
            options.photo = name;
            continue;
        }
        std::string value;
        if (const std::size_t equals = name.find('='); equals != std::string::npos) {
            value = name.substr(equals + 1);
            name.resize(equals);
        } else if (i + 1 < arguments.size()) {
            value = arguments[++i];
        }
        if (value.empty()) return bad(name, "needs a value", "write " + name + " and what it is to be");
        if (name == "--workbook") {
            options.workbook = value;
        } else if (name == "--demo") {
            options.demo = value;
        } else if (name == "--script") {
            options.script = value;
        } else if (name == "--screenshot") {
            options.screenshot = value;
        } else if (name == "--lit-by") {
            options.lit_by = value;
        } else if (name == "--timings") {
            options.timings = value;
        } else if (name == "--letter-gap") {
            const auto gap = read_as<float>(value);
            if (!gap || !(*gap >= 0 && *gap <= 10)) return bad("--letter-gap " + value, "is no gap", "write pixels, from 0 to 10");
            options.letter_gap = *gap;
        } else if (name == "--size") {
            const std::size_t x = value.find('x');
            if (x != std::string::npos) {
                options.width = read_as<int>(std::string_view(value).substr(0, x));
                options.height = read_as<int>(std::string_view(value).substr(x + 1));
            }
            if (!options.width || !options.height || *options.width < 640 || *options.height < 480 || *options.width > 16384 ||
                *options.height > 16384)
                return bad("--size " + value, "is not a size", "write for example --size 1280x720, from 640x480 to 16384x16384");
        } else if (name == "--scale") {
            options.scale = read_as<float>(value);
            if (!options.scale || !(*options.scale >= 0.5F && *options.scale <= 4.0F))
                return bad("--scale " + value, "is not a scale", "write a number from 0.5 to 4, for example --scale 2");
        } else {
            return bad(name, "is not known here", "see swatchwright window --help");
        }
    }
    return options;
}

}  // namespace sw::window
