#include "photo/pixels.hpp"

#include <sys/mman.h>

#include <cstdlib>
#include <new>

namespace sw {
namespace {

constexpr std::size_t kHuge = std::size_t{1} << 21;

}  // namespace

void* room_for_pixels(std::size_t bytes) {
    if (bytes < 2 * kHuge) return ::operator new(bytes);
    void* block = std::aligned_alloc(kHuge, (bytes + kHuge - 1) / kHuge * kHuge);
    if (block == nullptr) throw std::bad_alloc();
    static_cast<void>(::madvise(block, bytes, MADV_HUGEPAGE));  // advice: without it all is as before
    return block;
}

void give_back(void* block, std::size_t bytes) {
    if (bytes < 2 * kHuge)
        ::operator delete(block);
    else
        std::free(block);
}

}  // namespace sw
