// The writing half of exchange_cxf.hpp.
#include <libxml/xmlstring.h>

#include <algorithm>
#include <set>

#include "color/cie_data.hpp"
#include "color/spectrum.hpp"
#include "workbook/exchange_cxf.hpp"
#include "workbook/exchange_cxf_words.hpp"

namespace sw {
namespace {

using cxf::kNamespace;
using cxf::kTags;
using cxf::Tags;

/// Fit for XML text and attributes: control characters become blanks, what is not UTF-8 becomes '?'.
std::string escaped(const std::string& raw) {
    const bool valid = xmlCheckUTF8(reinterpret_cast<const unsigned char*>(raw.c_str())) != 0;
    std::string text;
    for (const char c : raw) {
        const auto byte = static_cast<unsigned char>(c);
        if (c == '&') text += "&amp;";
        if (c == '<') text += "&lt;";
        if (c == '>') text += "&gt;";
        if (c == '"') text += "&quot;";
        if (c == '&' || c == '<' || c == '>' || c == '"') continue;
        text += byte < 0x20 ? ' ' : byte >= 0x80 && !valid ? '?' : c;
    }
    return text;
}

std::string numbers(const std::vector<double>& values) {
    std::string text;
    for (const double value : values) text += (text.empty() ? "" : " ") + shortest(value);
    return text;
}

class CxfWriter {
public:
    CxfText written(const Exchange& all, const std::string& created) {
        for (const Target& target : all.targets) add(target);
        for (const Card& card : all.cards) add(card);
        result_.text = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<cc:CxF xmlns:cc=\"" + std::string(kNamespace) +
                       "\">\n <cc:FileInformation>\n  <cc:Creator>Swatchwright</cc:Creator>\n  <cc:CreationDate>" + escaped(created) +
                       "</cc:CreationDate>\n  <cc:Description>Targets and cards of a workbook</cc:Description>\n </cc:FileInformation>\n"
                       " <cc:Resources>\n  <cc:ObjectCollection>\n" +
                       objects_ + "  </cc:ObjectCollection>\n  <cc:ColorSpecificationCollection>\n" + specifications_ +
                       "  </cc:ColorSpecificationCollection>\n </cc:Resources>\n</cc:CxF>\n";
        return std::move(result_);
    }

private:
    void add(const Target& target) {
        if (!cxf::has_name(target.light)) {
            result_.left_out.push_back({"", target.name, "CxF has no name for its light " + target.light});
            return;
        }
        const Lab& lab = target.lab;
        std::vector<double> upper;
        for (int row = 0; row < 3; ++row) {
            for (int column = row; column < 3; ++column) upper.push_back(target.lab_covariance(row, column));
        }
        const auto table = target.spectrum.empty() ? Result<SpectrumTable>(Error{}) : parse_spectrum(target.spectrum, target.name);
        Tags tags{{"white", numbers({lab.white.X, lab.white.Y, lab.white.Z})},
                  {"covariance", numbers(upper)},
                  {"kind", to_word(target.kind)},
                  {"source", target.source}};
        if (!target.caution.empty()) tags["caution"] = target.caution;
        object("Standard", target.name, target.created,
               lab_element(lab, specification(target.light, target.observer)) + (table ? spectrum_element(*table) : ""), tags);
    }

    void add(const Card& card) {
        const auto* color = std::get_if<Lab>(&card.value);
        const auto* spectrum = std::get_if<SpectrumText>(&card.value);
        Tags tags{{"card_sd", numbers({card.sd})}, {"card_sd_assumed", card.sd_assumed ? "1" : "0"}, {"source", card.source}};
        if (color != nullptr) {
            object("Card", card.name, card.created, lab_element(*color, specification("D50", Observer::degree2)), tags);
            return;
        }
        const auto table = spectrum == nullptr ? Result<SpectrumTable>(Error{}) : parse_spectrum(spectrum->csv, card.name);
        if (!table) {
            result_.left_out.push_back({"", card.name, "CxF has no place for a card that is known by its LRV only"});
            return;
        }
        object("Card", card.name, card.created, spectrum_element(*table), tags);
    }

    std::string spectrum_element(const SpectrumTable& table) {
        std::vector<double> values = table.value;
        const bool percent = std::any_of(values.begin(), values.end(), [](double v) { return v > 1.5; });  // as reflectance() tells it
        if (percent) std::transform(values.begin(), values.end(), values.begin(), [](double v) { return v / 100; });
        return "<cc:ReflectanceSpectrum ColorSpecification=\"" + specification(table) + "\" StartWL=\"" + shortest(table.first_nm) + "\">" +
               numbers(values) + "</cc:ReflectanceSpectrum>";
    }

    static std::string lab_element(const Lab& lab, const std::string& specification) {
        return "<cc:ColorCIELab ColorSpecification=\"" + specification + "\"><cc:L>" + shortest(lab.L) + "</cc:L><cc:A>" + shortest(lab.a) +
               "</cc:A><cc:B>" + shortest(lab.b) + "</cc:B></cc:ColorCIELab>";
    }

    void object(const std::string& type, const std::string& name, const std::string& created, const std::string& color, const Tags& tags) {
        objects_ += "   <cc:Object ObjectType=\"" + type + "\" Name=\"" + escaped(name) + "\" Id=\"o" + std::to_string(++count_) +
                    "\">\n    <cc:CreationDate>" + escaped(created) + "</cc:CreationDate>\n    <cc:ColorValues>" + color +
                    "</cc:ColorValues>\n    <cc:TagCollection Location=\"" + kTags + "\">\n";
        for (const auto& [tag, value] : tags) objects_ += "     <cc:Tag Name=\"" + tag + "\" Value=\"" + escaped(value) + "\"/>\n";
        objects_ += "    </cc:TagCollection>\n   </cc:Object>\n";
    }

    std::string specification(const std::string& light, Observer observer) {
        return specified("<cc:TristimulusSpec><cc:Illuminant>" + light + "</cc:Illuminant><cc:Observer>" +
                         (observer == Observer::degree10 ? "10_Degree" : "2_Degree") + "</cc:Observer></cc:TristimulusSpec>");
    }
    std::string specification(const SpectrumTable& table) {
        return specified("<cc:MeasurementSpec><cc:MeasurementType>Spectrum_Reflectance</cc:MeasurementType><cc:WavelengthRange StartWL=\"" +
                         shortest(table.first_nm) + "\" Increment=\"" + shortest(table.step_nm) + "\"/></cc:MeasurementSpec>");
    }
    /// The same content has the same id.
    std::string specified(const std::string& content) {
        const auto [found, fresh] = ids_.emplace(content, "cs" + std::to_string(ids_.size() + 1));
        if (fresh) specifications_ += "   <cc:ColorSpecification Id=\"" + found->second + "\">" + content + "</cc:ColorSpecification>\n";
        return found->second;
    }

    CxfText result_;
    std::string objects_, specifications_;
    std::map<std::string, std::string> ids_;
    int count_ = 0;
};

}  // namespace

bool cxf::has_name(const std::string& light) {
    static const std::set<std::string> names{"A",  "C",  "D50", "D55", "D65", "D75", "F1",  "F2",  "F3",
                                             "F4", "F5", "F6",  "F7",  "F8",  "F9",  "F10", "F11", "F12"};
    return names.contains(light);
}

CxfText cxf_text(const Exchange& all, const std::string& created) { return CxfWriter().written(all, created); }

}  // namespace sw
