// A test of a sheet: what poppler's tools read in it.
#pragma once

#include <OpenImageIO/imageio.h>
#include <gtest/gtest.h>

#include <array>
#include <cstdio>
#include <string>
#include <vector>

#include "folder_test.hpp"

namespace sw::test {

class ReadBackTest : public FolderTest {
protected:
    /// What a command prints, both ways; its failure is the test's.
    static std::string said(const std::string& command) {
        std::FILE* pipe = popen((command + " 2>&1").c_str(), "r");
        std::string out;
        for (std::array<char, 4096> block{}; const std::size_t read = fread(block.data(), 1, block.size(), pipe);) out.append(block.data(), read);
        EXPECT_EQ(pclose(pipe), 0) << command << ": " << out;
        return out;
    }
    std::string words(const std::string& name, const std::string& how = "-layout") const {
        return said("pdftotext " + how + " " + path(name) + " -");
    }
    /// 8 bits, interleaved RGB, of a page at 72 dpi: a point is a pixel.
    struct Seen {
        int width = 0, height = 0;
        std::vector<unsigned char> rgb;
        std::array<int, 3> at(double x, double y) const {
            const std::size_t i = 3 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x));
            return {rgb.at(i), rgb.at(i + 1), rgb.at(i + 2)};
        }
    };
    static Seen seen(const std::string& file) {
        const auto in = OIIO::ImageInput::open(file);
        Seen picture;
        if (!in) return picture;
        picture.width = in->spec().width;
        picture.height = in->spec().height;
        picture.rgb.resize(static_cast<std::size_t>(picture.width * picture.height * 3));
        in->read_image(0, 0, 0, 3, OIIO::TypeDesc::UINT8, picture.rgb.data());
        return picture;
    }
    Seen drawn(const std::string& name) const {
        said("pdftoppm -r 72 -png -singlefile " + path(name) + " " + path("seen"));
        return seen(path("seen.png"));
    }
};

}  // namespace sw::test
