#include "viewer/options.hpp"

#include <charconv>

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
            return bad(name, "is not known here", "use --workbook, --demo, --size, --scale, --script, --screenshot or --lit-by");
        }
    }
    return options;
}

}  // namespace sw::window
