#include "workbook/exchange_cxf.hpp"

#include <libxml/parser.h>
#include <libxml/tree.h>

#include <algorithm>
#include <array>
#include <map>
#include <memory>

#include "color/cie_data.hpp"
#include "color/free.hpp"
#include "color/light.hpp"
#include "workbook/exchange_csv.hpp"
#include "workbook/exchange_cxf_words.hpp"
#include "workbook/rows.hpp"

namespace sw {
namespace {

constexpr std::size_t kMostObjects = 100'000, kMostValues = 2000, kMostBytes = 512U << 20U;

using cxf::kNamespace;
using cxf::kTags;
using cxf::Tags;

using Document = std::unique_ptr<xmlDoc, Free<xmlFreeDoc>>;
using XmlText = std::unique_ptr<xmlChar, Free<+[](xmlChar* text) { xmlFree(text); }>>;

bool is(const xmlNode* node, const char* name) {
    return node->type == XML_ELEMENT_NODE && xmlStrcmp(node->name, reinterpret_cast<const xmlChar*>(name)) == 0 && node->ns != nullptr &&
           xmlStrcmp(node->ns->href, reinterpret_cast<const xmlChar*>(kNamespace)) == 0;
}

std::vector<const xmlNode*> children(const xmlNode* of, const char* name) {
    std::vector<const xmlNode*> found;
    for (const xmlNode* node = of == nullptr ? nullptr : of->children; node != nullptr; node = node->next) {
        if (is(node, name)) found.push_back(node);
    }
    return found;
}
const xmlNode* child(const xmlNode* of, const char* name) {
    const auto found = children(of, name);
    return found.empty() ? nullptr : found.front();
}

std::string text_of(const xmlNode* node) {
    const XmlText text(node == nullptr ? nullptr : xmlNodeGetContent(node));
    return text ? store::trimmed(reinterpret_cast<const char*>(text.get())) : "";
}
std::string attribute(const xmlNode* node, const char* name) {
    const XmlText text(node == nullptr ? nullptr : xmlGetNoNsProp(node, reinterpret_cast<const xmlChar*>(name)));
    return text ? reinterpret_cast<const char*>(text.get()) : "";
}

/// Numbers with blanks between; nothing if one cannot be read.
std::optional<std::vector<double>> numbers_of(const std::string& text) {
    std::vector<double> values;
    constexpr const char* kBlanks = " \t\r\n";
    for (std::size_t at = text.find_first_not_of(kBlanks); at != std::string::npos;) {
        const std::size_t end = std::min(text.find_first_of(kBlanks, at), text.size());
        const auto value = number(std::string_view(text).substr(at, end - at));
        if (!value || values.size() == kMostValues) return std::nullopt;
        values.push_back(*value);
        at = text.find_first_not_of(kBlanks, end);
    }
    return values;
}

Tags tags_of(const xmlNode* object) {
    Tags tags;
    for (const xmlNode* collection : children(object, "TagCollection")) {
        if (attribute(collection, "Location") != kTags) continue;
        for (const xmlNode* tag : children(collection, "Tag")) tags[attribute(tag, "Name")] = attribute(tag, "Value");
    }
    return tags;
}

class CxfReader {
public:
    CxfReader(const xmlNode* root, const CxfReading& how) : how_(how) {
        const xmlNode* resources = child(root, "Resources");
        for (const xmlNode* node : children(child(resources, "ColorSpecificationCollection"), "ColorSpecification"))
            specifications_[attribute(node, "Id")] = node;
        objects_ = children(child(resources, "ObjectCollection"), "Object");
    }
    [[nodiscard]] std::size_t count() const { return objects_.size(); }

    Exchange read() {
        std::size_t place = 0;
        for (const xmlNode* object : objects_) {
            reason_.clear();
            const std::string given = attribute(object, "Name");
            const std::string name = store::trimmed(given.empty() ? attribute(object, "Id") : given);
            take(object, name, tags_of(object));
            ++place;
            if (!reason_.empty()) result_.not_taken.push_back({"object " + std::to_string(place), name, reason_});
        }
        if (spec_assumed_) result_.notes.push_back("where the file names no light, D50 and 2 degrees are taken");
        if (sd_assumed_) result_.notes.push_back("no standard deviation is given: " + shortest(kAssumedSd) + " is assumed in each of L*, a*, b*");
        if (spectra_ > 0) {
            result_.notes.push_back(std::to_string(spectra_) + (spectra_ == 1 ? " spectrum" : " spectra") +
                                    " became Lab under D50, 2 degrees (CIE 15); they are kept too");
        }
        return std::move(result_);
    }

private:
    void take(const xmlNode* object, const std::string& name, const Tags& tags) {
        if (tags.contains("card_sd")) return take_card(object, name, tags);
        Target target;
        target.name = name;
        target.kind = TargetKind::instrument;
        target.source = how_.file;
        target.created = text_of(child(object, "CreationDate"));
        fill_color(child(object, "ColorValues"), target);
        const double sd = how_.sd.value_or(kAssumedSd);
        target.lab_covariance = Eigen::Matrix3d::Identity() * (sd * sd);
        fill_from_tags(tags, target);
        if (reason_.empty()) {
            if (const auto found = implausible(target.lab)) reason_ = *found;
        }
        if (reason_.empty()) {
            if (unfit(target)) target.created.clear();  // dates by others may have no zone
            if (const auto found = unfit(target)) reason_ = *found;
        }
        if (!reason_.empty()) return;
        target.id = static_cast<std::int64_t>(result_.targets.size()) + 1;
        result_.targets.push_back(std::move(target));
    }

    void fill_from_tags(const Tags& tags, Target& target) {
        const auto figures = [&](const char* name, std::size_t count) -> std::optional<std::vector<double>> {
            const auto found = tags.find(name);
            auto values = found == tags.end() ? std::nullopt : numbers_of(found->second);
            return values && values->size() == count ? values : std::nullopt;
        };
        if (const auto white = figures("white", 3)) target.lab.white = {(*white)[0], (*white)[1], (*white)[2]};
        if (const auto upper = figures("covariance", 6)) {
            std::size_t next = 0;
            for (int row = 0; row < 3; ++row) {
                for (int column = row; column < 3; ++column)
                    target.lab_covariance(row, column) = target.lab_covariance(column, row) = (*upper)[next++];
            }
        } else {
            sd_assumed_ = sd_assumed_ || !how_.sd;
        }
        if (const auto found = tags.find("kind"); found != tags.end()) target.kind = target_kind(found->second).value_or(target.kind);
        if (const auto found = tags.find("source"); found != tags.end()) target.source = found->second;
        if (const auto found = tags.find("caution"); found != tags.end()) target.caution = found->second;
    }

    void take_card(const xmlNode* object, const std::string& name, const Tags& tags) {
        Card card;
        card.name = name;
        card.created = text_of(child(object, "CreationDate"));
        const auto sd = number(tags.at("card_sd"));
        const auto assumed = tags.find("card_sd_assumed"), source = tags.find("source");
        card.sd = sd.value_or(0);
        card.sd_assumed = assumed == tags.end() || assumed->second != "0";
        if (source != tags.end()) card.source = source->second;
        const xmlNode* values = child(object, "ColorValues");
        if (const xmlNode* lab = child(values, "ColorCIELab"); lab != nullptr) {
            const auto parts = three(lab, "L", "A", "B");
            if (!parts) return refuse("its Lab is not three numbers");
            card.value = Lab{(*parts)[0], (*parts)[1], (*parts)[2]};
        } else if (const xmlNode* spectrum = child(values, "ReflectanceSpectrum"); spectrum != nullptr) {
            const auto csv = spectrum_csv(spectrum);
            if (!csv) return;
            card.value = SpectrumText{cxf::kSpectrumHead + *csv};
        } else {
            return refuse("holds no color");
        }
        if (const auto found = unfit(card)) return refuse(*found);
        result_.cards.push_back(std::move(card));
    }

    void refuse(std::string reason) {
        if (reason_.empty()) reason_ = std::move(reason);
    }

    static std::optional<std::array<double, 3>> three(const xmlNode* of, const char* first, const char* second, const char* third) {
        std::array<double, 3> values{};
        std::size_t next = 0;
        for (const char* name : {first, second, third}) {
            const auto value = number(text_of(child(of, name)));
            if (!value) return std::nullopt;
            values[next++] = *value;
        }
        return values;
    }

    void fill_color(const xmlNode* values, Target& target) {
        for (const auto& [name, parts] : {std::pair{"ColorCIELab", std::array{"L", "A", "B"}},
                                          {"ColorCIELCh", std::array{"L", "C", "H"}},
                                          {"ColorCIEXYZ", std::array{"X", "Y", "Z"}}}) {
            const xmlNode* color = child(values, name);
            if (color == nullptr) continue;
            const auto found = three(color, parts[0], parts[1], parts[2]);
            if (!found) return refuse(std::string(name) + " is not three numbers");
            const auto white = fill_light(color, target);
            if (!white) return;
            const auto& [x, y, z] = *found;
            if (const xmlNode* spectrum = child(values, "ReflectanceSpectrum"); spectrum != nullptr) {
                const auto csv = spectrum_csv(spectrum);
                if (!csv) return;
                target.spectrum = cxf::kSpectrumHead + *csv;
            }
            target.lab = std::string_view(name) == "ColorCIELab"   ? Lab{x, y, z, *white}
                         : std::string_view(name) == "ColorCIELCh" ? lab(Lch{x, y, z}, *white)
                                                                   : lab(Xyz{x, y, z}, *white);
            return;
        }
        const xmlNode* spectrum = child(values, "ReflectanceSpectrum");
        if (spectrum == nullptr) return refuse("holds no color that is read (ColorCIELab, ColorCIELCh, ColorCIEXYZ, ReflectanceSpectrum)");
        const auto csv = spectrum_csv(spectrum);
        if (!csv) return;
        const auto table = parse_spectrum(*csv, "");
        const auto surface = table ? reflectance(*table, "") : Result<Reflectance>(table.error());
        if (!surface) return refuse("its spectrum: " + surface.error().cause);
        const auto d50 = light("D50");
        const Xyz white = xyz(*d50, Observer::degree2);
        target.lab = lab(xyz(*surface, *d50, Observer::degree2), white);
        target.spectrum = cxf::kSpectrumHead + *csv;
        ++spectra_;
    }

    /// The white of a color's specification; the target gets its light and observer.
    std::optional<Xyz> fill_light(const xmlNode* color, Target& target) {
        const auto found = specifications_.find(attribute(color, "ColorSpecification"));
        const xmlNode* tristimulus = found == specifications_.end() ? nullptr : child(found->second, "TristimulusSpec");
        std::string name = text_of(child(tristimulus, "Illuminant")), observer = text_of(child(tristimulus, "Observer"));
        spec_assumed_ = spec_assumed_ || name.empty() || observer.empty();
        if (name.empty()) name = "D50";
        if (!cxf::has_name(name)) {
            refuse("its light " + sw::quoted(name) + " is none that is known");
            return std::nullopt;
        }
        if (!observer.empty() && observer != "2_Degree" && observer != "10_Degree") {
            refuse("its observer " + sw::quoted(observer) + " is none that is known");
            return std::nullopt;
        }
        const auto lit = light(name);
        if (!lit) return std::nullopt;
        target.light = lit->name;
        target.observer = observer == "10_Degree" ? Observer::degree10 : Observer::degree2;
        return xyz(*lit, target.observer);
    }

    /// Lines nm,reflectance.
    std::optional<std::string> spectrum_csv(const xmlNode* spectrum) {
        const auto found = specifications_.find(attribute(spectrum, "ColorSpecification"));
        const xmlNode* range = found == specifications_.end() ? nullptr : child(child(found->second, "MeasurementSpec"), "WavelengthRange");
        const auto figure = [&](const char* name) {
            const auto own = number(attribute(spectrum, name));
            return own ? own : number(attribute(range, name));
        };
        const auto start = figure("StartWL"), step = figure("Increment");
        const auto values = numbers_of(text_of(spectrum));
        if (!start || !step) {
            refuse("its spectrum says not where it starts, or in which steps");
            return std::nullopt;
        }
        if (!values) {
            refuse("its spectrum is not numbers, or more than 2000 of them");
            return std::nullopt;
        }
        std::string csv;
        for (std::size_t i = 0; i < values->size(); ++i)
            csv += shortest(*start + static_cast<double>(i) * *step) + "," + shortest((*values)[i]) + "\n";
        return csv;
    }

    const CxfReading& how_;
    std::map<std::string, const xmlNode*> specifications_;
    std::vector<const xmlNode*> objects_;
    Exchange result_;
    std::string reason_;
    bool spec_assumed_ = false, sd_assumed_ = false;
    int spectra_ = 0;
};

}  // namespace

Result<Exchange> exchange_of_cxf(std::string_view text, const CxfReading& how) {
    const auto malformed = [&](std::string place, std::string cause, std::string remedy) {
        return Error{Fault::table_malformed, how.file, std::move(place), std::move(cause), std::move(remedy)};
    };
    if (text.empty() || text.size() > kMostBytes) return malformed("", text.empty() ? "is empty" : "is too large", "see that it is the right file");
    // A zero byte is UTF-16 or UTF-32, in which the next line would find nothing.
    if (text.find('\0') != std::string_view::npos) return malformed("", "is not in UTF-8", "save it as UTF-8");
    if (text.find("<!DOCTYPE") != std::string_view::npos || text.find("<!ENTITY") != std::string_view::npos)
        return malformed("", "holds a document type, which no CxF file needs", "take it out if you trust the file");
    const Document document(xmlReadMemory(text.data(), static_cast<int>(text.size()), "cxf", "UTF-8",
                                          XML_PARSE_NONET | XML_PARSE_NOERROR | XML_PARSE_NOWARNING | XML_PARSE_NOCDATA));
    if (!document) {
        const xmlError* problem = xmlGetLastError();
        const std::string line = problem == nullptr ? "" : "line " + std::to_string(problem->line);
        return malformed(line, "is not well-formed XML", "see that it is whole, and that it is CxF3");
    }
    const xmlNode* root = xmlDocGetRootElement(document.get());
    if (root == nullptr || !is(root, "CxF"))
        return malformed("", "is XML, but not CxF3 (namespace " + std::string(kNamespace) + ")", "save it as CxF3");
    CxfReader reader(root, how);
    if (reader.count() > kMostObjects) return malformed("", "holds more than 100 000 objects", "split it into several files");
    return reader.read();
}

}  // namespace sw
