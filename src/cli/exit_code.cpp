#include "cli/exit_code.hpp"

namespace sw {

int exit_code(Fault fault) {
    switch (fault) {
        case Fault::bad_usage:
        case Fault::light_unknown:
        case Fault::region_malformed:
            return kBadUsage;
        case Fault::file_missing:
        case Fault::file_unwritable:
        case Fault::not_a_picture:
        case Fault::picture_unsupported:
        case Fault::profile_broken:
        case Fault::table_malformed:
        case Fault::region_outside:
        case Fault::region_too_small:
        case Fault::gray_unusable:
        case Fault::known_unusable:
        case Fault::flat_unusable:
        case Fault::setup_mismatch:
        case Fault::chart_not_found:
        case Fault::color_unknown:
        case Fault::name_unknown:  // the command is well formed; what it names is not there
        case Fault::name_taken:
            return kBadInput;
        case Fault::workbook_unreadable:
        case Fault::workbook_locked:
        case Fault::workbook_newer:
        case Fault::workbook_write:
            return kWorkbookTrouble;
        case Fault::window_unavailable:
        case Fault::cancelled:
        case Fault::internal:
            return kInternalError;
    }
    return kInternalError;  // not a value of the enum: our mistake
}

}  // namespace sw
