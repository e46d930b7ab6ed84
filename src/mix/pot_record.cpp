#include "mix/pot_record.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

namespace sw {
namespace {

void put(std::string& to, double value) {
    char text[40];
    const auto end = std::to_chars(text, text + sizeof text, value);
    to.append(text, end.ptr);
    to += ' ';
}

/// The next word of a line, taken off it.
std::string_view word(std::string_view& line) {
    const std::size_t end = std::min(line.find(' '), line.size());
    const std::string_view first = line.substr(0, end);
    line.remove_prefix(std::min(end + 1, line.size()));
    return first;
}
bool number(std::string_view& line, double& value) {
    const std::string_view text = word(line);
    const auto end = std::from_chars(text.data(), text.data() + text.size(), value);
    return end.ec == std::errc{} && end.ptr == text.data() + text.size() && std::isfinite(value);
}

}  // namespace

std::string pot_text(const PotRecord& pot) {
    std::string text = "pot " + pot.name + "\n";
    std::size_t read = 0;
    for (std::size_t i = 0; i <= pot.additions.size(); ++i) {
        for (; read < pot.readings.size() && (pot.readings[read].after <= static_cast<int>(i) || i == pot.additions.size()); ++read) {
            const ReadingRecord& r = pot.readings[read];
            text += "read ";
            for (const double v : {r.L, r.a, r.b}) put(text, v);
            for (const double v : r.covariance) put(text, v);
            text += (r.observer == Observer::degree2 ? "2 " : "10 ") + r.light + "\n";
        }
        if (i == pot.additions.size()) break;
        text += "add ";
        put(text, pot.additions[i].drops);
        text += pot.additions[i].paint + "\n";
    }
    return text;
}

Result<PotRecord> pot_from_text(std::string_view text) {
    PotRecord pot;
    bool named = false;
    for (int at = 1; !text.empty(); ++at) {
        const std::size_t end = std::min(text.find('\n'), text.size());
        std::string_view line = text.substr(0, end);
        text.remove_prefix(std::min(end + 1, text.size()));
        if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
        if (line.empty() || line.front() == '#') continue;
        const std::string_view kind = word(line);
        bool good = false;
        if (kind == "pot") {
            good = !named && !line.empty();
            named = true;
            pot.name = line;
        } else if (kind == "add") {
            AdditionRecord a;
            good = named && number(line, a.drops) && a.drops > 0 && !line.empty();
            a.paint = line;
            pot.additions.push_back(std::move(a));
        } else if (kind == "read") {
            ReadingRecord r;
            r.after = static_cast<int>(pot.additions.size());
            double observer = 0;
            good = named && r.after > 0 && number(line, r.L) && number(line, r.a) && number(line, r.b);
            for (double& v : r.covariance) good = good && number(line, v);
            good = good && number(line, observer) && (observer == 2 || observer == 10) && !line.empty();
            r.observer = observer == 10 ? Observer::degree10 : Observer::degree2;
            r.light = line;
            pot.readings.push_back(std::move(r));
        }
        if (!good)
            return Error{.fault = Fault::table_malformed,
                         .file = {},
                         .place = "line " + std::to_string(at),
                         .cause = "no line of a pot",
                         .remedy = "begin with \"pot NAME\"; then \"add DROPS PAINT\" and \"read ...\" lines, in the order of time"};
    }
    if (!named)
        return Error{.fault = Fault::table_malformed, .file = {}, .place = {}, .cause = "the pot has no name", .remedy = "begin with \"pot NAME\""};
    return pot;
}

Result<Pot> pot_on_shelf(const PotRecord& record, const Shelf& shelf) {
    Pot pot{record.name, {}, {}};
    for (const AdditionRecord& a : record.additions) {
        const auto at = std::find_if(shelf.paints.begin(), shelf.paints.end(), [&](const Paint& p) { return p.name == a.paint; });
        if (at == shelf.paints.end())
            return Error{
                .fault = Fault::name_unknown, .file = {}, .place = a.paint, .cause = "no such paint on the shelf", .remedy = "put it there first"};
        pot.additions.push_back({static_cast<int>(at - shelf.paints.begin()), a.drops});
    }
    for (const ReadingRecord& r : record.readings) {
        const Result<Light> lit = light(r.light);
        if (!lit) return lit.error();
        PotReading reading{r.after, {sight(*lit, r.observer), {r.L, r.a, r.b, {}}, Eigen::Matrix3d::Zero()}, {}};
        reading.color.lab.white = reading.color.sight.white;
        const std::array<double, 6>& c = r.covariance;
        reading.color.covariance << c[0], c[1], c[2], c[1], c[3], c[4], c[2], c[4], c[5];
        pot.readings.push_back(std::move(reading));
    }
    return pot;
}

}  // namespace sw
