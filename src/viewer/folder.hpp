// The pictures that lie beside the open one, with small pictures of those that are looked at.
#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "photo/preview.hpp"

namespace sw::window {

struct FolderPicture {
    std::string path;
    std::shared_ptr<const Preview> preview;  // not made yet, or it cannot be
    bool tried = false;
};

struct PhotoFolder {
    std::string path;  // empty: none
    std::vector<FolderPicture> pictures;
};

inline constexpr std::size_t kMostPictures = 2000;  // of a folder that are shown

/// Files whose names end as pictures' do, numbers in names by their value ("IMG_9" before "IMG_10"); the first kMostPictures. Empty where the folder
/// cannot be read.
[[nodiscard]] std::vector<std::string> pictures_in(const std::filesystem::path& folder);
/// The picture `steps` further in its folder; empty where there is none.
[[nodiscard]] std::string picture_beside(const std::string& path, int steps);

}  // namespace sw::window
