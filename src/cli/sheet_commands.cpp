// swatchwright sheet: targets, parts and pots on paper.
#include "cli/commands.hpp"
#include "cli/exchange_answers.hpp"
#include "cli/exit_code.hpp"
#include "cli/photo_job.hpp"
#include "sheet/book_sheets.hpp"
#include "sheet/file.hpp"

namespace sw {

Result<Answer> run(const SheetRequest& request) {
    const auto workbook = Workbook::open(request.workbook, false);
    if (!workbook) return in_file(workbook.error(), request.workbook.string());
    auto sheet = book_sheet(*workbook, request.kind, request.names, request.paper, request.out);
    if (!sheet) return in_file(sheet.error(), request.workbook.string());
    SheetTold told;
    told.pages = sheet->drawn.pages;
    told.targets = sheet->targets;
    told.parts = sheet->parts;
    told.pots = sheet->pots;
    for (const DrawnFile& file : sheet->drawn.files) {
        if (const auto saved = write_file(file.name, file.bytes); !saved) return saved.error();
        told.files.push_back(file.name);
    }
    return Answer{request.json ? sheet_json(told) : sheet_report(told), std::move(sheet->messages), kDone};
}

}  // namespace sw
