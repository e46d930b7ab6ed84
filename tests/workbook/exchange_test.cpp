// Export and import as values: each format there and back, files by others, hostile files, and how what comes in fits beside what is there.
#include <gmock/gmock.h>

#include <cmath>
#include <cstdio>
#include <nlohmann/json.hpp>
#include <random>

#include "color/light.hpp"
#include "slow.hpp"
#include "workbook/database.hpp"
#include "workbook/exchange_csv.hpp"
#include "workbook/exchange_cxf.hpp"
#include "workbook/exchange_json.hpp"
#include "workbook/exchange_share.hpp"
#include "workbook/samples.hpp"

namespace sw {
namespace {

using testing::HasSubstr;

template <class T>
T taken(Result<T> result) {
    if (!result) throw std::runtime_error(describe(result.error()));
    return *std::move(result);
}

/// Targets with every kind of name and source that the store takes; figures with all their digits.
Exchange samples() {
    Exchange all;
    for (int number = 0; number < 40; ++number) {
        Target target = sample_target(number);
        target.id = number + 1;
        target.created = "2031-05-06T07:08:09.1" + std::to_string(10 + number) + "Z";
        target.lab.L += 1.0 / 3;
        all.targets.push_back(target);
    }
    all.targets[1].name = "Straw 31, \"dry\"; = +1";
    all.targets[2].name = "Τεφρό & <μπλε> ' 灰";
    all.targets[3].name = std::string(200, 'x');
    all.targets[6].spectrum = "nm,reflectance\n";
    for (int nm = 380; nm <= 730; nm += 10) all.targets[6].spectrum += std::to_string(nm) + ",0." + std::to_string(nm) + "1\n";
    all.targets[8].caution = "appearance on screen, \"graded\"";
    all.targets[4].source = "  two\r\nlines, \"quoted\"";
    for (int number = 0; number < 20; ++number) {
        KeptReading reading = sample_reading(number);
        reading.created = "2031-05-07T07:08:09.1" + std::to_string(10 + number) + "Z";
        if (number % 2 == 0) reading.target = number + 1;
        all.readings.push_back(reading);
    }
    for (int number = 0; number < 6; ++number) {
        Card card = sample_card(number);
        card.created = "2031-05-08T07:08:09.1" + std::to_string(10 + number) + "Z";
        all.cards.push_back(card);
    }
    for (std::size_t number = 0; number < all.readings.size(); ++number) all.readings[number].id = static_cast<std::int64_t>(number) + 100;
    for (int number = 0; number < 6; ++number) {
        Lamp lamp = sample_lamp(number);
        Part part = sample_part(number, number % 3 == 1 ? number : 0, number > 2 ? number - 1 : 0);  // 3 in 2, ... 6 in 5
        Note note = sample_note(number, number % 3 == 0 ? number + 1 : 0, number % 3 == 1 ? number + 1 : 0, number % 3 == 2 ? 100 + number : 0);
        part.id = number + 1;
        for (std::string* created : {&lamp.created, &part.created, &note.created})
            *created = "2031-05-09T07:08:09.1" + std::to_string(10 + number) + "Z";
        all.lamps.push_back(lamp);
        all.parts.push_back(part);
        all.kept_notes.push_back(note);
    }
    for (const int number : {1, 2, 3}) {
        all.photos.push_back(sample_photo(number));
        all.photos.back().created = "2031-05-10T07:08:09.11" + std::to_string(number) + "Z";
        all.setups.push_back(sample_setup(number == 3 ? 4 : number));  // with a short text
        all.setups.back().created = "2031-05-11T07:08:09.11" + std::to_string(number) + "Z";
    }
    all.photos[0].focal_mm = 1.0 / 3;
    all.photos[1].thumbnail.clear();
    all.photos[2].hash = all.readings[0].photo_hash;
    return all;
}

/// "brake wheel 1/brake wheel 2, wears Damson 3": what a part is, whatever the ids.
std::string part_words(const Exchange& all, const Part& part) {
    const auto worn = std::find_if(all.targets.begin(), all.targets.end(), [&](const Target& t) { return part.target && t.id == *part.target; });
    return part_path(all.parts, part) + (worn == all.targets.end() ? "" : ", wears " + worn->name) + ", " + to_word(part.status) + ", " + part.note +
           ", " + part.created;
}
/// Likewise what a note is about.
std::string note_words(const Exchange& all, const Note& note) {
    const auto name_of = [](const auto& list, std::optional<std::int64_t> id) {
        const auto found = std::find_if(list.begin(), list.end(), [&](const auto& thing) { return id && thing.id == *id; });
        return found == list.end() ? std::string("-") : found->name;
    };
    return name_of(all.targets, note.target) + ", " + name_of(all.parts, note.part) + ", " + name_of(all.readings, note.reading) + ": " + note.text +
           ", " + note.created;
}

void expect_same_targets(const std::vector<Target>& read, const std::vector<Target>& written) {
    ASSERT_EQ(read.size(), written.size());
    for (std::size_t i = 0; i < read.size(); ++i) {
        EXPECT_TRUE(same_content(read[i], written[i])) << i << " " << written[i].name;
        EXPECT_EQ(read[i].created, written[i].created);
    }
}

// Source: property (the shortest text that reads back as the same double, to_chars).
TEST(ExchangeCsv, TargetsComeBackToTheLastDigit) {
    const Exchange all = samples();
    const Exchange read = taken(targets_of_csv(targets_csv(all.targets), {.file = "o.csv"}));
    EXPECT_TRUE(read.not_taken.empty()) << read.not_taken.front().reason;
    expect_same_targets(read.targets, all.targets);
}

TEST(ExchangeCsv, RowsAreThoseOfRfc4180) {
    const std::string text = targets_csv({samples().targets[1]});
    EXPECT_THAT(text, HasSubstr("\r\n\"Straw 31, \"\"dry\"\"; = +1\","));
    EXPECT_TRUE(text.ends_with("\r\n"));
}

constexpr const char* kInstrument =
    "\xEF\xBB\xBFInstrument;handheld\r\n"
    "\r\n"
    "Probe;L* (D65);a*;b*;Bemerkung\r\n"
    "Damson 14;32,5;20,8;-12,7;glossed\r\n"
    "Straw 31;78,2;3,1;-\r\n"
    "\"Heather\r\n09\";52;18;-20;\r\n"
    "Heather 09;52;18;-20;\"a; b\"\r\n"
    ";1;2;3;\r\n"
    "Far;150;0;0;\r\n"
    "Slate;22.5;+1,5;0,25\r\n";

TEST(ExchangeCsv, AnInstrumentsTableIsReadAndBadRowsAreNamed) {
    const CsvReading how{.file = "probe.csv", .map = {{"Probe", "name"}}, .under = light("D65").value(), .observer = Observer::degree10, .sd = 0.2};
    const Exchange read = taken(targets_of_csv(kInstrument, how));
    ASSERT_EQ(read.targets.size(), 3U);
    const Target& first = read.targets[0];
    EXPECT_EQ(first.name, "Damson 14");
    EXPECT_EQ(first.lab.L, 32.5);
    EXPECT_EQ(first.lab.b, -12.7);
    EXPECT_EQ(first.light, "D65");
    EXPECT_EQ(first.observer, Observer::degree10);
    EXPECT_NEAR(first.lab.white.X, 94.811, 0.001);  // CIE 015:2018, table of white points, D65 10 degrees
    EXPECT_EQ(first.kind, TargetKind::instrument);
    EXPECT_DOUBLE_EQ(first.lab_covariance(1, 1), 0.04);
    EXPECT_EQ(first.source, "probe.csv line 4");
    EXPECT_EQ(read.targets[1].name, "Heather 09");
    EXPECT_EQ(read.targets[2].lab.a, 1.5);
    ASSERT_EQ(read.not_taken.size(), 4U);
    EXPECT_EQ(read.not_taken[0].place, "line 5");
    EXPECT_THAT(read.not_taken[0].reason, HasSubstr("\"-\" is not a number"));
    EXPECT_EQ(read.not_taken[1].place, "line 6");  // where the row begins; the name holds a line end
    EXPECT_THAT(read.not_taken[1].reason, HasSubstr("control character"));
    EXPECT_EQ(read.not_taken[2].place, "line 9");
    EXPECT_THAT(read.not_taken[2].reason, HasSubstr("no name"));
    EXPECT_EQ(read.not_taken[3].place, "line 10");
    EXPECT_THAT(read.not_taken[3].reason, HasSubstr("no surface"));
    EXPECT_THAT(read.notes, testing::Contains(HasSubstr("decimal comma")));
    EXPECT_THAT(read.notes, testing::Contains(HasSubstr("semicolons")));
}

// Source: CIE 1976, a gray of luminance factor 0.5 under any light has L* = 116 * 0.5^(1/3) - 16.
TEST(ExchangeCsv, ReflectancesBecomeLabByIntegration) {
    std::string text = "sample";
    for (int nm = 400; nm <= 700; nm += 10) text += "," + std::to_string(nm) + " nm";
    text += "\nhalf gray";
    for (int nm = 400; nm <= 700; nm += 10) text += ",0.5";
    const Exchange read = taken(targets_of_csv(text, {.file = "s.csv"}));
    ASSERT_EQ(read.targets.size(), 1U);
    EXPECT_NEAR(read.targets[0].lab.L, 116 * std::cbrt(0.5) - 16, 1e-9);
    EXPECT_NEAR(read.targets[0].lab.a, 0, 1e-9);
    EXPECT_NEAR(read.targets[0].lab.b, 0, 1e-9);
    EXPECT_THAT(read.notes, testing::Contains(HasSubstr("spectra became Lab")));
    EXPECT_TRUE(read.targets[0].spectrum.starts_with("nm,reflectance\n400,0.5\n")) << read.targets[0].spectrum;
    EXPECT_THAT(read.notes, testing::Contains(HasSubstr("0.5 is assumed")));
}

TEST(ExchangeCsv, ChromaAndHueAndXyzAreReadToo) {
    const Exchange polar = taken(targets_of_csv("name\tL\tC\th\nx\t50\t20\t90\n", {.file = "p.txt"}));
    EXPECT_NEAR(polar.targets.at(0).lab.b, 20, 1e-12);
    const Exchange xyz = taken(targets_of_csv("X,Y,Z,name\n18,20,16,x\n", {.file = "p.csv"}));
    EXPECT_NEAR(xyz.targets.at(0).lab.L, 116 * std::cbrt(0.2) - 16, 1e-9);
}

TEST(ExchangeCsv, WhatIsNoTableIsAnError) {
    const CsvReading plain{.file = "o.csv"};
    CsvReading mapped = plain;
    mapped.map = {{"Lightness", "l"}};
    for (const std::string& text : {std::string(), std::string("just words\nand more\n"), std::string("name,L,a\nx,1,2\n"), std::string("a\0b", 3),
                                    std::string("name,L,a,b\n\"open,1,2,3\n"), std::string(100'000, ',')}) {
        EXPECT_FAULT(targets_of_csv(text, plain), Fault::table_malformed);
    }
    const auto missing = targets_of_csv("name,L,a,b\nx,1,2,3\n", mapped);
    EXPECT_FAULT(missing, Fault::table_malformed);
    EXPECT_THAT(missing.error().cause, HasSubstr("Lightness"));
}

TEST(ExchangeJson, EverythingComesBackToTheLastDigit) {
    const Folder folder(quick_place());
    const Exchange all = samples();
    const Exchange read = taken(exchange_of_json(exchange_json(all), "o.json"));
    EXPECT_TRUE(read.not_taken.empty()) << read.not_taken.front().reason;
    expect_same_targets(read.targets, all.targets);
    const Exchange fresh = fit_in(read, {}, false);
    Workbook workbook = opened(folder / "new.swb");
    ASSERT_TRUE(add_all(workbook, fresh, "Imported"));
    const Exchange kept = taken(everything_in(workbook));
    ASSERT_EQ(kept.readings.size(), all.readings.size());
    for (std::size_t i = 0; i < all.readings.size(); ++i) {
        EXPECT_TRUE(same_content(kept.readings[i], all.readings[i])) << i;
        EXPECT_EQ(kept.readings[i].created, all.readings[i].created);
        if (!all.readings[i].target) {
            EXPECT_FALSE(kept.readings[i].target) << i;
            continue;
        }
        ASSERT_TRUE(kept.readings[i].target) << i;
        const auto judged = std::find_if(kept.targets.begin(), kept.targets.end(), [&](const Target& t) { return t.id == *kept.readings[i].target; });
        ASSERT_NE(judged, kept.targets.end());
        EXPECT_EQ(judged->name, all.targets[static_cast<std::size_t>(*all.readings[i].target - 1)].name);
    }
    ASSERT_EQ(kept.cards.size(), all.cards.size());
    for (std::size_t i = 0; i < all.cards.size(); ++i) EXPECT_TRUE(same_content(kept.cards[i], all.cards[i])) << i;
    ASSERT_EQ(kept.lamps.size(), all.lamps.size());
    for (std::size_t i = 0; i < all.lamps.size(); ++i) EXPECT_TRUE(same_content(kept.lamps[i], all.lamps[i])) << i;
    std::vector<std::string> parts, expected, notes, expected_notes;
    for (const Part& part : kept.parts) parts.push_back(part_words(kept, part));
    for (const Part& part : all.parts) expected.push_back(part_words(all, part));
    EXPECT_THAT(parts, testing::UnorderedElementsAreArray(expected));
    for (const Note& note : kept.kept_notes) notes.push_back(note_words(kept, note));
    for (const Note& note : all.kept_notes) expected_notes.push_back(note_words(all, note));
    EXPECT_THAT(notes, testing::UnorderedElementsAreArray(expected_notes));
    ASSERT_EQ(kept.photos.size(), all.photos.size());
    ASSERT_EQ(kept.setups.size(), all.setups.size());
    for (std::size_t i = 0; i < all.photos.size(); ++i) {
        EXPECT_TRUE(same_content(kept.photos[i], all.photos[i])) << i;
        EXPECT_EQ(kept.photos[i].created, all.photos[i].created);
        EXPECT_TRUE(same_content(kept.setups[i], all.setups[i])) << i;
        EXPECT_EQ(kept.setups[i].created, all.setups[i].created);
    }
    const Exchange again = fit_in(read, kept, false);  // a second time nothing is new
    EXPECT_EQ(again.targets.size() + again.readings.size() + again.cards.size() + again.lamps.size() + again.parts.size() + again.kept_notes.size() +
                  again.photos.size() + again.setups.size(),
              0U);
    EXPECT_EQ(taken(workbook.undo()), "Imported");
    const Exchange emptied = taken(everything_in(workbook));
    EXPECT_EQ(emptied.targets.size() + emptied.photos.size() + emptied.setups.size(), 0U) << "undone as one";
    const Exchange one = only(kept, {"Damson 0"}).value();
    EXPECT_EQ(exchange_json(one).find("Damson 5\""), std::string::npos);
    ASSERT_EQ(one.photos.size(), 1U);
    EXPECT_EQ(one.photos[0].hash, one.readings.at(0).photo_hash);
    EXPECT_TRUE(one.setups.empty());
}

TEST(ExchangeJson, BadFilesAreErrorsAndBadThingsAreListed) {
    const std::string good = exchange_json(samples());
    for (const std::string& text : {std::string(), std::string("{}"), std::string("[1,2]"), std::string(1'000'000, '['),
                                    std::string("{\"format\":\"swatchwright-workbook\",\"version\":2}"),
                                    std::string("{\"format\":\"swatchwright-workbook\",\"version\":1,\"targets\":{}}")}) {
        EXPECT_FAULT(exchange_of_json(text, "o.json"), Fault::table_malformed);
    }
    for (std::size_t length = 0; length + 2 < good.size(); length += 97)
        EXPECT_FAULT(exchange_of_json(good.substr(0, length), "o.json"), Fault::table_malformed);
    const Exchange read = taken(exchange_of_json(
        R"({"format":"swatchwright-workbook","version":1,"targets":[7,{"name":"x"},{"name":"y","lab":[1,"2",3],"white":[1,1,1],
            "covariance":[0,0,0,0,0,0],"kind":"chip","light":"D50","observer":2,"source":"","created":"2031-05-06T07:08:09.100Z"}]})",
        "o.json"));
    ASSERT_EQ(read.not_taken.size(), 3U);
    EXPECT_THAT(read.not_taken[0].reason, HasSubstr("not an object"));
    EXPECT_EQ(read.not_taken[1].place, "targets 2");
    EXPECT_THAT(read.not_taken[1].reason, HasSubstr("no \"lab\""));
    EXPECT_THAT(read.not_taken[2].reason, HasSubstr("3 numbers"));
    // A photo's and a set-up's members, each spoiled in turn.
    const nlohmann::json whole = nlohmann::json::parse(good);
    const auto reason = [&](const char* list, const char* member, const nlohmann::json& value) {
        nlohmann::json json{{"format", whole["format"]}, {"version", 1}, {list, nlohmann::json::array({whole[list][0]})}};
        json[list][0][member] = value;
        const Exchange spoiled = taken(exchange_of_json(json.dump(), "o.json"));
        EXPECT_TRUE(spoiled.photos.empty() && spoiled.setups.empty());
        return spoiled.not_taken.size() == 1 ? spoiled.not_taken[0].reason : "";
    };
    EXPECT_THAT(reason("photos", "thumbnail", "/9j*"), HasSubstr("base64"));
    EXPECT_THAT(reason("photos", "width", 1e12), HasSubstr("whole number"));
    EXPECT_THAT(reason("photos", "width", 10'000'000'000), HasSubstr("whole number"));
    EXPECT_THAT(reason("photos", "bytes", -1), HasSubstr("whole number"));
    EXPECT_THAT(reason("photos", "iso", -100), HasSubstr("not a figure above 0"));
    EXPECT_THAT(reason("photos", "hash", ""), HasSubstr("no hash"));
    EXPECT_THAT(reason("setups", "name", " "), testing::Ne(""));
    EXPECT_THAT(reason("setups", "setup", 7), HasSubstr("not text"));
}

TEST(ExchangeFit, APhotoIsKnownByItsContentAndASetupByItsName) {
    Exchange there, incoming;
    there.photos = {sample_photo(1)};
    there.setups = {sample_setup(1)};
    incoming.photos = {sample_photo(1), sample_photo(2), sample_photo(2)};
    incoming.photos[0].path = "elsewhere.jpg";
    incoming.setups = {sample_setup(2), sample_setup(2)};
    incoming.setups[0].name = there.setups[0].name;
    const Exchange fresh = fit_in(incoming, there, true);
    ASSERT_EQ(fresh.photos.size(), 1U);
    EXPECT_EQ(fresh.photos[0].hash, sample_photo(2).hash);
    ASSERT_EQ(fresh.not_taken.size(), 1U);
    EXPECT_EQ(fresh.not_taken[0].name, "2 photos");
    ASSERT_EQ(fresh.setups.size(), 2U);
    EXPECT_EQ(fresh.setups[0].name, there.setups[0].name + " (2)");
}

TEST(ExchangeCxf, ColorsComeBackToTheLastDigit) {
    Exchange all = samples();
    for (Target& target : all.targets) target.light = "D50";
    all.targets[4].source = "two lines, \"quoted\"";  // XML has no place for a line end in an attribute that keeps it: it becomes a blank
    const CxfText written = cxf_text(all, "2031-05-08T07:08:09.115Z");
    EXPECT_EQ(written.left_out.size(), 2U);  // the cards of which only the LRV is known
    const Exchange read = taken(exchange_of_cxf(written.text, {.file = "o.cxf"}));
    EXPECT_TRUE(read.not_taken.empty()) << read.not_taken.front().reason;
    expect_same_targets(read.targets, all.targets);
    ASSERT_EQ(read.cards.size(), 4U);
    EXPECT_TRUE(same_content(read.cards[0], all.cards[1]));
    EXPECT_TRUE(same_content(read.cards[2], all.cards[4]));
    const SpectrumTable before = taken(parse_spectrum(std::get<SpectrumText>(all.cards[2].value).csv, "")),
                        after = taken(parse_spectrum(std::get<SpectrumText>(read.cards[1].value).csv, ""));
    EXPECT_EQ(before.value, after.value);
    EXPECT_EQ(before.first_nm, after.first_nm);
    EXPECT_EQ(before.step_nm, after.step_nm);
}

// As others write it: another prefix, no tags, dates without a zone, more than we read. Source of the element names: published descriptions of CxF3.
TEST(ExchangeCxf, AFileByOthersIsRead) {
    std::string half;
    for (int nm = 400; nm <= 700; nm += 10) half += "0.5 ";
    const std::string text = R"(<?xml version="1.0" encoding="utf-8"?>
<CxF xmlns="http://colorexchangeformat.com/CxF3-core" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"><FileInformation><Creator>x</Creator>
</FileInformation><Resources><ObjectCollection>
<Object ObjectType="Color" Name="Half gray" Id="c1"><CreationDate>2012-02-03T04:05:06</CreationDate><ColorValues>
 <ReflectanceSpectrum ColorSpecification="m1" MeasureDate="2012-02-03">)" +
                             half + R"(</ReflectanceSpectrum></ColorValues></Object>
<Object ObjectType="Color" Name="Polar" Id="c2"><ColorValues><ColorCIELCh ColorSpecification="t1"><L>50</L><C>20</C><H>90</H></ColorCIELCh></ColorValues></Object>
<Object ObjectType="Color" Name="Ink" Id="c3"><DeviceColorValues/></Object>
<Object ObjectType="Color" Name="Lamp" Id="c4"><ColorValues><ColorCIELab ColorSpecification="t2"><L>50</L><A>2</A><B>9</B></ColorCIELab></ColorValues></Object>
</ObjectCollection><ColorSpecificationCollection>
<ColorSpecification Id="m1"><MeasurementSpec><WavelengthRange StartWL="400" Increment="10"/></MeasurementSpec></ColorSpecification>
<ColorSpecification Id="t1"><TristimulusSpec><Illuminant>D65</Illuminant><Observer>10_Degree</Observer></TristimulusSpec></ColorSpecification>
<ColorSpecification Id="t2"><TristimulusSpec><Illuminant>Custom</Illuminant><Observer>2_Degree</Observer></TristimulusSpec></ColorSpecification>
</ColorSpecificationCollection></Resources></CxF>)";
    const Exchange read = taken(exchange_of_cxf(text, {.file = "o.cxf", .sd = 0.3}));
    ASSERT_EQ(read.targets.size(), 2U);
    EXPECT_NEAR(read.targets[0].lab.L, 116 * std::cbrt(0.5) - 16, 1e-9);  // as above
    EXPECT_EQ(read.targets[0].kind, TargetKind::instrument);
    EXPECT_DOUBLE_EQ(read.targets[0].lab_covariance(0, 0), 0.09);
    EXPECT_EQ(read.targets[1].light, "D65");
    EXPECT_EQ(read.targets[1].observer, Observer::degree10);
    EXPECT_NEAR(read.targets[1].lab.b, 20, 1e-9);
    ASSERT_EQ(read.not_taken.size(), 2U);
    EXPECT_EQ(read.not_taken[0].place, "object 3");
    EXPECT_THAT(read.not_taken[1].reason, HasSubstr("Custom"));
    EXPECT_THAT(read.notes, testing::Contains(HasSubstr("1 spectrum became Lab")));
}

TEST(ExchangeCxf, HostileAndBrokenFilesAreErrors) {
    const std::string good = cxf_text(samples(), "2031-05-08T07:08:09.115Z").text;
    std::string bomb = "<?xml version=\"1.0\"?><!DOCTYPE x [<!ENTITY a \"aaaaaaaaaa\">";
    for (char c = 'b'; c <= 'j'; ++c) {
        bomb += std::string("<!ENTITY ") + c + " \"";
        for (int i = 0; i < 10; ++i) bomb += std::string("&") + static_cast<char>(c - 1) + ";";
        bomb += "\">";
    }
    bomb += "]><x>&j;</x>";
    std::string deep = "<x xmlns=\"http://colorexchangeformat.com/CxF3-core\">";
    for (int i = 0; i < 100'000; ++i) deep += "<a>";
    for (const std::string& text :
         {std::string(), bomb, deep, std::string("<?xml version=\"1.0\"?><!DOCTYPE x SYSTEM \"file:///etc/passwd\"><x/>"), std::string("<CxF/>"),
          std::string("<CxF xmlns=\"http://colorexchangeformat.com/CxF2\"/>"), std::string("\xFF\xFE<\0C\0", 6), std::string("<a>\xE4</a>")}) {
        EXPECT_FAULT(exchange_of_cxf(text, {.file = "o.cxf"}), Fault::table_malformed);
    }
    for (std::size_t length = 0; length + 2 < good.size(); length += 31)
        EXPECT_FAULT(exchange_of_cxf(good.substr(0, length), {.file = "o.cxf"}), Fault::table_malformed);
}

TEST(ExchangeFit, TakenNamesAreListedOrGetAnother) {
    const Folder folder(quick_place());
    Workbook workbook = opened(folder / "w.swb");
    Target blue = sample_target(1);
    ASSERT_TRUE(workbook.add(blue));
    const Exchange there = taken(everything_in(workbook));
    Target other = sample_target(2);
    other.name = blue.name;
    other.id = 2;
    Target same = there.targets[0];
    same.id = 1;
    KeptReading of_same = sample_reading(3), of_other = sample_reading(4);
    of_same.target = 1;
    of_other.target = 2;
    Exchange incoming;
    incoming.targets = {same, other};
    incoming.readings = {of_same, of_other};
    for (KeptReading& reading : incoming.readings) ASSERT_FALSE(unfit(reading));
    ASSERT_FALSE(unfit(incoming.targets[1]));

    const Exchange listed = fit_in(incoming, there, false);
    EXPECT_TRUE(listed.targets.empty());
    ASSERT_EQ(listed.not_taken.size(), 2U);
    EXPECT_THAT(listed.not_taken[0].reason, HasSubstr("there already"));
    EXPECT_THAT(listed.not_taken[1].reason, HasSubstr("another target has this name"));
    EXPECT_EQ(listed.readings.at(0).target, there.targets[0].id);
    EXPECT_FALSE(listed.readings.at(1).target);

    const Exchange renamed = fit_in(incoming, there, true);
    ASSERT_EQ(renamed.targets.size(), 1U);
    EXPECT_EQ(renamed.targets[0].name, blue.name + " (2)");
    EXPECT_EQ(renamed.renamed.at(0).to, renamed.targets[0].name);
    ASSERT_TRUE(add_all(workbook, renamed, "Imported"));
    const Exchange after = taken(everything_in(workbook));
    EXPECT_EQ(after.targets.size(), 2U);
    EXPECT_EQ(after.readings.size(), 2U);
    EXPECT_TRUE(fit_in(incoming, after, false).readings.empty()) << "a second time nothing is new";
    Exchange longest;
    longest.targets = {other, other};
    longest.targets[0].name = longest.targets[1].name = std::string(196, 'x') + "éé";  // 200 bytes; the tail cuts a character
    longest.targets[1].lab.L += 1;
    EXPECT_EQ(fit_in(longest, {}, true).targets.at(1).name, std::string(196, 'x') + " (2)");
}

// A part goes where its parent went, whatever the order in the file; what hangs in the air is listed.
TEST(ExchangeFit, PartsKeepTheirPlace) {
    Exchange there, incoming;
    Part car = sample_part(0), wheel = sample_part(2);
    car.id = 70;
    there.parts = {car};
    car.id = 9;
    wheel.id = 3;
    wheel.parent = 9;
    Part spoke = sample_part(4), ring = sample_part(6), lost = sample_part(8);
    spoke.id = 1;
    spoke.parent = 3;
    ring.id = 5;
    ring.parent = 6;
    lost.id = 6;
    lost.parent = 5;
    incoming.parts = {spoke, wheel, car, ring, lost};
    const Exchange fresh = fit_in(incoming, there, false);
    ASSERT_EQ(fresh.parts.size(), 2U);
    EXPECT_EQ(fresh.parts[0].name, wheel.name);
    EXPECT_EQ(fresh.parts[0].parent, 70);
    EXPECT_EQ(fresh.parts[1].parent, fresh.parts[0].id);
    ASSERT_EQ(fresh.not_taken.size(), 3U);
    EXPECT_THAT(fresh.not_taken[0].reason, HasSubstr("there already"));
    EXPECT_THAT(fresh.not_taken[2].reason, HasSubstr("stands in is not in the file"));
}

TEST(ExchangeShare, NothingPrivateGoesOut) {
    Exchange all = samples();
    all.targets[0].source = "/media/ada lovelace/My Photos/bench.jpg 100,20,50,50; ../frames/f2.png 1,2,3,4";
    all.targets[0].light = "0.7*/media/ada lovelace/lamp.csv+0.3*D65";
    all.readings[0].photo_file = "C:\\Users\\ada lovelace\\bench.jpg";
    all.readings[0].calibration_json = "{\"file\":\"/media/ada lovelace/x\"}";
    all.lamps[1].source = "/media/ada lovelace/lamp.csv";
    all.lamps[1].spectrum = "# serial no. 4711\n" + all.lamps[1].spectrum;
    auto& spectrum = std::get<SpectrumText>(all.cards[2].value);
    spectrum.csv = "# serial no. 4711, ada lovelace\n" + spectrum.csv;
    all.photos[0].path = "/media/ada lovelace/bench.jpg";
    // A JPEG with what a camera or an editor puts there: application segments 1 and 13, a comment (ITU-T T.81, B.1.1.3).
    const std::string table("\xFF\xDB\x00\x04\x01\x02", 6), scan("\xFF\xDA\x00\x02picture\xFF\xD9", 13);
    all.photos[0].thumbnail = "\xFF\xD8" +
                              std::string(
                                  "\xFF\xE1\x00\x06"
                                  "4711",
                                  8) +
                              table +
                              std::string(
                                  "\xFF\xED\x00\x06"
                                  "4711",
                                  8) +
                              std::string(
                                  "\xFF\xFE\x00\x0A"
                                  "lovelace",
                                  12) +
                              scan;
    all.photos[2].thumbnail = "lovelace: no JPEG";
    const Exchange shared = fit_to_share(all);
    EXPECT_EQ(shared.photos[0].path, "bench.jpg");
    EXPECT_EQ(shared.photos[0].thumbnail, "\xFF\xD8" + table + scan);
    EXPECT_EQ(shared.photos[2].thumbnail, "");
    EXPECT_TRUE(shared.setups.empty());
    EXPECT_EQ(shared.targets[0].source, "bench.jpg 100,20,50,50; f2.png 1,2,3,4");
    EXPECT_EQ(shared.targets[0].light, "0.7*lamp.csv+0.3*D65");
    EXPECT_EQ(shared.readings[0].photo_file, "bench.jpg");
    const std::string text = exchange_json(shared) + targets_csv(shared.targets) + readings_csv(shared.readings, shared.targets) +
                             cards_csv(shared.cards) + cxf_text(shared, "").text;
    for (const char* secret : {"lovelace", "4711", "media", "Users"}) EXPECT_EQ(text.find(secret), std::string::npos) << secret;
    const Exchange read = taken(exchange_of_json(exchange_json(shared), "o.json"));  // and it still is what it was
    EXPECT_TRUE(read.not_taken.empty());
    EXPECT_EQ(read.readings.size(), all.readings.size());
    EXPECT_EQ(taken(parse_spectrum(std::get<SpectrumText>(read.cards[2].value).csv, "")).value, taken(parse_spectrum(spectrum.csv, "")).value);
}

TEST(ExchangeFit, AllOrNothingIsAdded) {
    const Folder folder(quick_place());
    Workbook workbook = opened(folder / "w.swb");
    ASSERT_TRUE(workbook.add(sample_target(7)));
    const std::string before = bytes_of(folder / "w.swb");
    Exchange some;
    for (int number = 0; number < 20; ++number) some.targets.push_back(sample_target(number));  // the eighth bears a name that is taken
    const auto failed = add_all(workbook, some, "Imported");
    EXPECT_FAULT(failed, Fault::name_taken);
    EXPECT_EQ(taken(workbook.targets()).size(), 1U);
    some.targets.erase(some.targets.begin() + 7);
    some.targets[12].lab.L = std::nan("");
    EXPECT_FAULT(add_all(workbook, some, "Imported"), Fault::bad_usage);
    EXPECT_EQ(taken(workbook.targets()).size(), 1U);
    some.targets[12].lab.L = 50;
    ASSERT_TRUE(add_all(workbook, some, "Imported"));
    EXPECT_EQ(taken(workbook.targets()).size(), 20U);
    EXPECT_EQ(taken(workbook.undo()), "Imported") << "as one";
    EXPECT_EQ(taken(workbook.targets()).size(), 1U);
    ASSERT_TRUE(taken(workbook.redo()));
    EXPECT_NE(bytes_of(folder / "w.swb"), before);
}

TEST(ExchangeFit, WhatCannotBeWrittenSaysSo) {
    const Folder folder(quick_place());
    Exchange some;
    some.targets.push_back(sample_target(1));
    Workbook workbook = opened(folder / "w.swb");
    const auto database = store::Database::open(folder / "w.swb", "w.swb", true, false);
    ASSERT_TRUE(database);
    ASSERT_TRUE(database->run("BEGIN EXCLUSIVE", store::Doing::writing));
    EXPECT_FAULT(add_all(workbook, some, "Imported"), Fault::workbook_locked);
    ASSERT_TRUE(database->run("ROLLBACK; PRAGMA user_version = 99", store::Doing::writing));
    EXPECT_FAULT(add_all(workbook, some, "Imported"), Fault::workbook_newer);
    EXPECT_TRUE(taken(opened(folder / "w.swb", false).targets()).empty());
}

// Property: whatever bytes come, there is an answer or an error, and what is taken can be kept.
TEST(ExchangeHostile, ChangedBytesGiveAnAnswerOrAnError) {
    const Exchange all = samples();
    const std::string csv = targets_csv(all.targets), json = exchange_json(all), cxf = cxf_text(all, "2031-05-06T07:08:09Z").text;
    std::mt19937 random(14);
    int answers = 0, errors = 0;
    const auto count = [&](const Result<Exchange>& read) {
        ++(read ? answers : errors);
        EXPECT_TRUE(read || !read.error().cause.empty());
        for (Target target : read ? read->targets : std::vector<Target>()) EXPECT_FALSE(unfit(target));
    };
    for (int trial = 0; trial < (test::kSlow ? 30 : 300); ++trial) {
        for (const std::string* whole : {&csv, &json, &cxf}) {
            std::string changed = *whole;
            for (int change = 0; change < 1 + trial % 4; ++change) {
                const std::size_t at = random() % changed.size();
                if (trial % 3 == 0) changed[at] = static_cast<char>(random() % 256);
                if (trial % 3 == 1) changed.erase(at, 1 + random() % 50);
                if (trial % 3 == 2) changed.insert(at, changed.substr(random() % changed.size(), 40));
            }
            count(whole == &csv    ? targets_of_csv(changed, {.file = "o.csv"})
                  : whole == &json ? exchange_of_json(changed, "o.json")
                                   : exchange_of_cxf(changed, {.file = "o.cxf"}));
        }
    }
    std::printf("%d answers, %d errors\n", answers, errors);
    EXPECT_GT(answers, 0);
    EXPECT_GT(errors, 0);
}

}  // namespace
}  // namespace sw
