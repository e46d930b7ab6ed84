// export, import and sheet at the command line, with other programs looking at what is written: python3, xmllint, the sqlite3 shell, poppler.
#include <array>
#include <cstdio>
#include <fstream>

#include "cli/command_test.hpp"

namespace sw {
namespace {

using Json = nlohmann::json;
using test::Ran;
using test::refused;
using test::run_words;
using test::told;
using test::Words;
using testing::HasSubstr;

class ExchangeCommands : public test::CommandTest {
protected:
    [[nodiscard]] Words with_book(Words words, const std::string& book = "w.swb") const {
        words.insert(words.end(), {"--workbook", path(book)});
        return words;
    }
    void fill() const {
        ASSERT_EQ(run_words(with_book({"target", "add", "Damson 14", "--lab", "32.5,20.8,-12.7", "--sd", "0.3"})).code, 0);
        ASSERT_EQ(run_words(with_book({"target", "add", "Straw 31, \"dry\"", "--lab", "78.2,3.1,42.25", "--sd", "0.4", "--under", "D65"})).code, 0);
        ASSERT_EQ(run_words(with_book({"target", "add", "Heather 09", "--lab", "52,18,-20", "--sd", "0.4", "--under", "led:6500,ra=80"})).code, 0);
        ASSERT_EQ(run_words(with_book({"card", "add", "gray", "--lrv", "18.3"})).code, 0);
        ASSERT_EQ(run_words(with_book({"card", "add", "board", "--lab", "80,1,2"})).code, 0);
    }
    void write(const std::string& name, const std::string& text) const { std::ofstream(path(name), std::ios::binary) << text; }
    static std::string shell(const std::string& command) {
        std::FILE* pipe = popen((command + " 2>&1").c_str(), "r");
        std::string out;
        for (std::array<char, 4096> block{}; const std::size_t read = fread(block.data(), 1, block.size(), pipe);) out.append(block.data(), read);
        EXPECT_EQ(pclose(pipe), 0) << command << ": " << out;
        return out;
    }
    /// Everything of the targets but their ids, as the sqlite3 shell sees it.
    [[nodiscard]] std::string rows(const std::string& book, const std::string& where = "1") const {
        return shell(
            "sqlite3 " + path(book) +
            " \"select name,hex(lab_l),lab_a,lab_b,white_x,white_y,white_z,cov_ll,cov_la,cov_lb,cov_aa,cov_ab,cov_bb,kind,light,observer,source,"
            "created from target where " +
            where + " order by name\"");
    }
};

// A workbook that holds nothing but a photo and a set-up: what is verified by them can be verified elsewhere.
TEST_F(ExchangeCommands, PhotosAndSetupsGoAlong) {
    ASSERT_EQ(run_words(with_book({"calibrate", test::kBench, "--gray", test::kCard, "--save", "bench"})).code, 0);
    const Json out = told(with_book({"export", path("o.json")}), "export.json");
    EXPECT_EQ(out["photos"], 1);
    EXPECT_EQ(out["setups"], 1);
    const Json in = told(with_book({"import", path("o.json")}, "n.swb"), "import.json");
    EXPECT_EQ(in["photos"], 1);
    EXPECT_EQ(in["setups"], 1);
    for (const char* what : {"photo", "setup"})
        EXPECT_EQ(run_words(with_book({what, "list", "--json"}, "n.swb")).out, run_words(with_book({what, "list", "--json"})).out);
    EXPECT_THAT(run_words(with_book({"import", path("o.json")}, "n.swb")).out, HasSubstr("Took nothing")) << "a second time nothing is new";
    EXPECT_EQ(run_words(with_book({"measure", test::kBench, "--setup", "bench", "--region", "chip=" + test::kChip}, "n.swb")).code, 0);
}

// A shelf and a pot go along and are counted.
TEST_F(ExchangeCommands, PaintsAndPotsGoAlong) {
    ASSERT_EQ(run_words(with_book({"paint", "add", "Bone White", "--masstone", "92,0,3"})).code, 0);
    ASSERT_EQ(run_words(with_book({"paint", "add", "Pit Black", "--masstone", "18,0,0", "--tint", "0.1=55,0,-2"})).code, 0);
    ASSERT_EQ(run_words(with_book({"target", "add", "Slate 3", "--lab", "45,0,-2"})).code, 0);
    ASSERT_EQ(run_words(with_book({"mix", "start", "trial", "--target", "Slate 3"})).code, 0);
    ASSERT_EQ(run_words(with_book({"mix", "add", "trial", "Pit Black", "3"})).code, 0);
    const Json out = told(with_book({"export", path("p.json")}), "export.json");
    EXPECT_EQ(out["paints"], 2);
    EXPECT_EQ(out["samples"], 3);
    EXPECT_EQ(out["pots"], 1);
    EXPECT_THAT(run_words(with_book({"import", path("p.json")}, "q.swb")).out, HasSubstr("Took 1 target, 2 paints, 3 samples and 1 pot"));
    EXPECT_EQ(run_words(with_book({"mix", "log", "trial", "--json"}, "q.swb")).out, run_words(with_book({"mix", "log", "trial", "--json"})).out);
    // A shelf alone is worth a file, too.
    ASSERT_EQ(run_words(with_book({"mix", "remove", "trial"})).code, 0);
    ASSERT_EQ(run_words(with_book({"target", "remove", "Slate 3"})).code, 0);
    ASSERT_EQ(run_words(with_book({"export", path("shelf.json")})).code, 0);
    EXPECT_THAT(run_words(with_book({"import", path("shelf.json")}, "r.swb")).out, HasSubstr("Took 2 paints and 3 samples"));
}

TEST_F(ExchangeCommands, EveryFormatFillsAnEqualWorkbook) {
    fill();
    const Json json = told(with_book({"export", path("o.json")}), "export.json");
    EXPECT_EQ(json["targets"], 3);
    EXPECT_EQ(json["cards"], 2);
    EXPECT_EQ(told(with_book({"export", path("o.csv")}), "export.json")["targets"], 3);
    const Json cxf = told(with_book({"export", path("o.cxf")}), "export.json");
    EXPECT_EQ(cxf["targets"], 2);
    EXPECT_EQ(cxf["cards"], 1);
    EXPECT_EQ(cxf["left_out"].size(), 2U);
    for (const std::string ending : {"json", "csv", "cxf"}) {
        const Json taken = told(with_book({"import", path("o." + ending)}, ending + ".swb"), "import.json");
        EXPECT_EQ(taken["targets"].size(), ending == "cxf" ? 2U : 3U);
        EXPECT_EQ(taken["not_taken"].size(), 0U);
        EXPECT_EQ(rows(ending + ".swb"), rows("w.swb", ending == "cxf" ? "light like 'D%'" : "1"));
        EXPECT_EQ(run_words(with_book({"target", "list"}, ending + ".swb")).code, 0);  // checksums
    }
}

// The standard library of Python 3: csv (RFC 4180 with its defaults), json; libxml2's xmllint. A schema of CxF3 to validate against is not to be had.
TEST_F(ExchangeCommands, OtherProgramsReadThem) {
    fill();
    for (const char* name : {"o.csv", "o.json", "o.cxf"}) ASSERT_EQ(run_words(with_book({"export", path(name)})).code, 0);
    EXPECT_EQ(shell("python3 -c \"import csv,sys\nrows=list(csv.DictReader(open(sys.argv[1],newline=''),strict=True))\n"
                    "print(len(rows), *[len(r) for r in rows], rows[2]['name'], float(rows[2]['lab_b']), rows[1]['light'])\" " +
                    path("o.csv")),
              "3 24 24 24 Straw 31, \"dry\" 42.25 led:6500,ra=80\n");
    EXPECT_EQ(shell("python3 -c \"import json,sys\nd=json.load(open(sys.argv[1]))\n"
                    "print(d['format'], d['version'], d['targets'][0]['lab'], d['cards'][1]['lrv'])\" " +
                    path("o.json")),
              "swatchwright-workbook 1 [32.5, 20.8, -12.7] 18.3\n");
    EXPECT_EQ(shell("xmllint --noout --nonet " + path("o.cxf")), "");
    EXPECT_EQ(shell("xmllint --xpath \"string((//*[local-name()='Object'])[2]//*[local-name()='B'])\" " + path("o.cxf")), "42.25\n");
}

TEST_F(ExchangeCommands, AnInstrumentsRowsComeInAndBadOnesAreNamed) {
    write("p.csv", "Sample ID;L*;a*;b*\nSlate;22,5;1,5;0,25\nbroken;22,5;x;1\nDamson 14;33;20;-12\n");
    fill();
    const Ran ran = run_words(with_book({"import", path("p.csv"), "--map", "Sample ID=name", "--under", "D65", "--observer", "10"}));
    EXPECT_EQ(ran.code, 0) << ran.err;
    EXPECT_THAT(ran.out, HasSubstr("Took 1 target"));
    EXPECT_THAT(ran.err, HasSubstr("not taken: line 3: broken: a: \"x\" is not a number"));
    EXPECT_THAT(ran.err, HasSubstr("not taken: Damson 14: another target has this name"));
    EXPECT_THAT(ran.err, HasSubstr("0.5 is assumed"));
    EXPECT_THAT(ran.err, HasSubstr("taken as under D65, 10 degrees"));
    EXPECT_THAT(rows("w.swb", "name='Slate'"), HasSubstr("|instrument|D65|10|p.csv line 2|"));
    const Json again =
        told(with_book({"import", path("p.csv"), "--map", "#1=name", "--under", "D65", "--observer", "10", "--rename"}), "import.json");
    EXPECT_EQ(again["targets"], Json({"Damson 14 (2)"}));
    EXPECT_EQ(again["renamed"][0]["from"], "Damson 14");
    // Another table of the same instrument needs nothing said, but does what is said.
    write("r.csv", "Sample ID;L*;a*;b*\nMoss 7;52;18;-20\n");
    const Ran later = run_words(with_book({"import", path("r.csv")}));
    EXPECT_EQ(later.code, 0) << later.err;
    EXPECT_THAT(later.err, HasSubstr("columns are read as the last time: #1 is name; under D65, 10 degrees"));
    EXPECT_THAT(rows("w.swb", "name='Moss 7'"), HasSubstr("|instrument|D65|10|r.csv line 2|"));
    write("r.csv", "Sample ID;L*;a*;b*\nMoss 8;52;18;-20\n");
    EXPECT_EQ(run_words(with_book({"import", path("r.csv"), "--under", "A"})).code, 0);
    EXPECT_THAT(rows("w.swb", "name='Moss 8'"), HasSubstr("|instrument|A|2|"));
    EXPECT_THAT(run_words(with_book({"workbook", "undo"})).out, HasSubstr("Imported r.csv"));
    std::string lamp;
    for (int nm = 380; nm <= 780; nm += 5) lamp += std::to_string(nm) + ",1\n";
    write("lamp.csv", lamp);
    write("q.csv", "name,L,a,b\nSlate 2,22.5,1.5,0.25\n");
    EXPECT_EQ(run_words(with_book({"import", path("q.csv"), "--under", path("lamp.csv"), "--sd", "0.2"})).code, 0);
    EXPECT_THAT(rows("w.swb", "name='Slate 2'"), HasSubstr("lamp.csv|2|q.csv line 2|"));
    write("bad.csv", "name,L,a,b\nx,1,2,y\n");
    const Ran none = run_words(with_book({"import", path("bad.csv")}, "new.swb"));
    EXPECT_EQ(none.code, 3);
    EXPECT_THAT(none.err, HasSubstr("line 2: x"));
    EXPECT_FALSE(std::filesystem::exists(path("new.swb"))) << "nothing to keep makes no workbook";
}

TEST_F(ExchangeCommands, PartsCanBeExported) {
    fill();
    std::string csv = "nm,reflectance\n";
    for (int nm = 380; nm <= 730; nm += 10) csv += std::to_string(nm) + ",0." + std::to_string(10 + nm % 70) + "\n";
    write("s.csv", csv);
    ASSERT_EQ(run_words(with_book({"card", "add", "measured", "--spectrum", path("s.csv")})).code, 0);
    EXPECT_EQ(told(with_book({"export", path("two.json"), "--targets", "Damson 14,Heather 09"}), "export.json")["targets"], 2);
    EXPECT_EQ(told(with_book({"export", path("one.icc"), "--target", "Straw 31, \"dry\""}), "export.json")["targets"], 1);
    ASSERT_EQ(run_words(with_book({"export", path("spectrum.csv"), "--card", "measured"})).code, 0);
    EXPECT_EQ(run_words({"spectra", path("s.csv"), path("spectrum.csv")}).code, 0);
    EXPECT_EQ(shell("cmp " + path("s.csv") + " " + path("spectrum.csv")), "");
    ASSERT_EQ(run_words(with_book({"export", path("cards.csv"), "--what", "cards"})).code, 0);
    EXPECT_EQ(shell("head -1 " + path("cards.csv")), "name,kind,lrv,lab_l,lab_a,lab_b,spectrum,sd,sd_assumed,source,created\r\n");
    ASSERT_EQ(run_words(with_book({"export", path("readings.csv"), "--what", "readings"})).code, 0);
    EXPECT_THAT(shell("cat " + path("readings.csv")), HasSubstr("photo_hash,region,de00"));
}

TEST_F(ExchangeCommands, WhatCannotBeSaysWhatToDo) {
    refused({"export"}, 2, "names no file");
    refused({"export", "x.doc"}, 2, ".csv, .json, .cxf or .icc");
    refused({"export", path("x.json"), "--what", "cards"}, 2, "for CSV files");
    refused(with_book({"export", path("x.json")}), 4, "there is no such file");
    fill();
    refused(with_book({"export", path("x.json"), "--target", "none"}), 3, "there is no target of that name");
    refused(with_book({"export", path("x.csv"), "--card", "gray"}), 2, "has no spectrum");
    refused(with_book({"export", path("nowhere/x.csv")}), 3, "there is no folder");
    refused({"import"}, 2, "names no file");
    refused({"import", "x.icc"}, 2, "can be read");
    refused({"import", "x.csv", "--map", "L"}, 2, "COLUMN=MEANING");
    refused({"import", "x.csv", "--map", "L=lightness"}, 2, "COLUMN=MEANING");
    refused({"import", "x.json", "--map", "L=l"}, 2, "for CSV files");
    refused({"import", "x.json", "--sd", "1"}, 2, "for CSV and CxF");
    refused({"import", "x.csv", "--kind", "paint"}, 2, "is not a kind");
    refused(with_book({"import", path("x.csv")}), 3, "there is no such file");
    write("bad.cxf", "<!DOCTYPE x [<!ENTITY a \"b\">]><x>&a;</x>");
    refused(with_book({"import", path("bad.cxf")}), 3, "document type");
    write("bad.json", "{");
    refused(with_book({"import", path("bad.json")}), 3, "not valid JSON");
    refused({"sheet"}, 2, "says not what to draw");
    refused({"sheet", "recipe", "--out", "x.pdf"}, 2, "is no sheet");
    refused({"sheet", "target", "--out", "x.pdf"}, 2, "needs the target's name");
    refused({"sheet", "targets"}, 2, "names no file");
    refused({"sheet", "targets", "--out", "x.jpg"}, 2, ".pdf");
    refused({"sheet", "targets", "--out", "x.pdf", "--paper", "A3"}, 2, "A4 or Letter");
    refused(with_book({"sheet", "target", "none", "--out", path("x.pdf")}), 3, "there is no target of that name");
    refused(with_book({"sheet", "labels", "--out", path("x.pdf")}, "no.swb"), 4, "there is no such file");
}

TEST_F(ExchangeCommands, SheetsAreDrawn) {
    fill();
    EXPECT_EQ(told(with_book({"sheet", "target", "Damson 14", "--out", path("card.pdf")}), "sheet.json")["pages"], 1);
    EXPECT_THAT(shell("pdftotext " + path("card.pdf") + " -"), HasSubstr("32.5 ± 0.3"));
    const Json labels =
        told(with_book({"sheet", "labels", "Damson 14", "Heather 09", "--out", path("labels.png"), "--paper", "Letter"}), "sheet.json");
    EXPECT_EQ(labels["targets"], 2);
    EXPECT_TRUE(std::filesystem::exists(path("labels.png")));
    EXPECT_EQ(told(with_book({"sheet", "targets", "--out", path("all.pdf")}), "sheet.json")["targets"], 3);
    EXPECT_THAT(shell("pdftotext -raw " + path("all.pdf") + " -"), HasSubstr("Targets of w.swb"));
}

TEST_F(ExchangeCommands, ACardShowsItsPhotoWhereItStillIs) {
    std::filesystem::copy_file(test::kBench, path("bench.jpg"));
    ASSERT_EQ(run_words(with_book({"target", "add", "chip", "--from", path("bench.jpg"), "--region", test::kChip, "--gray", test::kCard})).code, 0);
    const Ran with = run_words(with_book({"sheet", "target", "chip", "--out", path("with.pdf")}));
    EXPECT_EQ(with.code, 0);
    EXPECT_EQ(with.err, "");
    EXPECT_THAT(shell("pdfimages -list " + path("with.pdf")), testing::ContainsRegex("1 +0 image"));
    std::filesystem::rename(path("bench.jpg"), path("moved.jpg"));
    const Ran without = run_words(with_book({"sheet", "target", "chip", "--out", path("without.pdf")}));
    EXPECT_EQ(without.code, 0);
    EXPECT_THAT(without.err, HasSubstr("the card is drawn without its photo"));
    EXPECT_THAT(shell("pdfimages -list " + path("without.pdf")), testing::Not(testing::ContainsRegex("1 +0 image")));
}

// Python 3's zipfile opens it and finds it whole.
TEST_F(ExchangeCommands, ABundleIsSharedWithoutPaths) {
    fill();
    write("p.csv", "name,L,a,b,source\nSlate,22.5,1.5,0.25," + path("secret/slate.jpg") + " 1;2;3;4\n");
    ASSERT_EQ(run_words(with_book({"import", path("p.csv")})).code, 0);
    EXPECT_EQ(told(with_book({"share", "--out", path("b.zip")}), "export.json")["targets"], 4);
    EXPECT_EQ(shell("python3 -c \"import sys,zipfile\nz=zipfile.ZipFile(sys.argv[1])\nprint(z.testzip(), *z.namelist())\nz.extractall(sys.argv[2])\n"
                    "print(any(sys.argv[2].encode() in z.read(n) or b'secret' in z.read(n) for n in z.namelist()))\" " +
                    path("b.zip") + " " + folder_.string()),
              "None README.txt workbook.json targets.csv colors.cxf targets.pdf labels.pdf\nFalse\n");
    EXPECT_EQ(told(with_book({"import", path("workbook.json")}, "new.swb"), "import.json")["targets"].size(), 4U);
    EXPECT_EQ(shell("xmllint --noout " + path("colors.cxf")), "");
    EXPECT_THAT(shell("pdftotext -raw " + path("targets.pdf") + " -"), HasSubstr("Slate"));
    refused(with_book({"share"}), 2, "names no file");
    refused(with_book({"share", "--out", path("b.tar")}), 2, "writes a .zip");
    refused(with_book({"share", "--out", path("b.zip"), "--target", "none"}), 3, "there is no target of that name");
}

}  // namespace
}  // namespace sw
