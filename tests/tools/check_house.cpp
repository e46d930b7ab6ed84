// check_house REPOSITORY: reads the repository's text and says what breaks a rule of the house (house_rules.hpp). Exit code 1 if anything does.
#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <iterator>
#include <set>

#include "tools/house_rules.hpp"

namespace fs = std::filesystem;

int main(int argc, char** argv) {
    if (argc != 2 || !fs::is_directory(fs::path(argv[1]) / "src")) {
        std::cerr << "usage: check_house REPOSITORY\n";
        return 2;
    }
    const fs::path root = argv[1];
    const std::set<std::string> pictures = {".png", ".jpg", ".jpeg", ".tif", ".tiff", ".icc", ".swb", ".bin"};
    std::vector<fs::path> files;
    for (auto it = fs::recursive_directory_iterator(root); it != fs::recursive_directory_iterator(); ++it) {
        const std::string name = it->path().filename().string();
        if (it->is_directory() && (name == ".git" || (name.starts_with("build") && it.depth() == 0) || name == ".cache" || name == "corpus")) {
            it.disable_recursion_pending();
        } else if (it->is_regular_file() && name != ".git" && !pictures.contains(it->path().extension().string())) {
            files.push_back(it->path());
        }
    }
    std::sort(files.begin(), files.end());

    std::size_t sources = 0;
    std::vector<std::string> complaints;
    for (const fs::path& file : files) {
        std::ifstream stream(file, std::ios::binary);
        const std::string text{std::istreambuf_iterator<char>(stream), {}};
        const std::string path = fs::relative(file, root).generic_string();
        const auto add = [&](std::vector<std::string> more) { complaints.insert(complaints.end(), more.begin(), more.end()); };
        add(house::text_complaints(path, text));
        if (path.starts_with("src/") && (path.ends_with(".cpp") || path.ends_with(".hpp"))) {
            ++sources;
            add(house::layer_complaints(path.substr(4), text));
            if (path.ends_with(".cpp") && fs::exists(fs::path(file).replace_extension(".hpp")))
                add(house::own_header_complaints(path.substr(4), text));
        }
    }
    for (const std::string& complaint : complaints) std::cout << complaint << "\n";
    std::cout << files.size() << " text files read, " << sources << " of them sources; " << complaints.size() << " complaints\n";
    return complaints.empty() && sources > 0 ? 0 : 1;
}
