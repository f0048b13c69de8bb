//! Objects: the dictionaries and layouts that R2000 has.

use super::handle;
use std::io::{self, Write};

use kurbo::Point;

use super::writer::Writer;

impl<W: Write> Writer<'_, W> {
    pub(super) fn objects(&mut self) -> io::Result<()> {
        if !self.r2000 {
            return Ok(());
        }
        self.section("OBJECTS");
        self.dictionary(
            "DICTIONARY",
            handle::ROOT,
            0,
            &[
                ("ACAD_GROUP", handle::GROUPS),
                ("ACAD_LAYOUT", handle::LAYOUTS),
                ("ACAD_PLOTSTYLENAME", handle::PLOT_STYLES),
            ],
        );
        self.dictionary("DICTIONARY", handle::GROUPS, handle::ROOT, &[]);
        let layouts =
            [("Layout1", handle::PAPER + handle::LAYOUT), ("Model", handle::MODEL + handle::LAYOUT)];
        self.dictionary("DICTIONARY", handle::LAYOUTS, handle::ROOT, &layouts);
        let styles = [("Normal", handle::PLOT_STYLE)];
        self.dictionary("ACDBDICTIONARYWDFLT", handle::PLOT_STYLES, handle::ROOT, &styles);
        self.tag(100, "AcDbDictionaryWithDefault");
        self.handle(340, handle::PLOT_STYLE);
        self.tag(0, "ACDBPLACEHOLDER");
        self.handle(5, handle::PLOT_STYLE);
        self.handle(330, handle::PLOT_STYLES);
        self.layout("Model", handle::MODEL, 0);
        self.layout("Layout1", handle::PAPER, 1);
        self.tag(0, "ENDSEC");
        self.flush_full()
    }

    fn dictionary(&mut self, kind: &str, own: u64, owner: u64, entries: &[(&str, u64)]) {
        self.tag(0, kind);
        self.handle(5, own);
        self.handle(330, owner);
        self.tag(100, "AcDbDictionary");
        self.integer(281, 1);
        for (name, entry) in entries {
            self.tag(3, name);
            self.handle(350, *entry);
        }
    }

    fn layout(&mut self, name: &str, space: u64, tab: i64) {
        self.tag(0, "LAYOUT");
        self.handle(5, space + handle::LAYOUT);
        self.handle(330, handle::LAYOUTS);
        self.tag(100, "AcDbPlotSettings");
        self.tag(1, "");
        self.tag(2, "none_device");
        self.tag(4, "");
        self.tag(6, "");
        for code in [40, 41, 42, 43, 44, 45, 46, 47, 48, 49, 140, 141] {
            self.length(code, 0.0);
        }
        self.length(142, 1.0);
        self.length(143, 1.0);
        // Model space prints as displayed, in millimetres, at full size.
        self.integer(70, if tab == 0 { 1024 | 688 } else { 688 });
        self.integer(72, 1);
        self.integer(73, 0);
        self.integer(74, 5);
        self.tag(7, "");
        self.integer(75, 16);
        self.length(147, 1.0);
        self.length(148, 0.0);
        self.length(149, 0.0);
        self.tag(100, "AcDbLayout");
        self.tag(1, name);
        self.integer(70, 1);
        self.integer(71, tab);
        self.point(10, 0.0, 0.0);
        self.point(11, 420.0, 297.0);
        self.point_3d(12, Point::ORIGIN);
        self.point_3d(14, Point::new(self.extent.x0, self.extent.y0));
        self.point_3d(15, Point::new(self.extent.x1, self.extent.y1));
        self.length(146, 0.0);
        self.point_3d(13, Point::ORIGIN);
        self.point_3d(16, Point::new(1.0, 0.0));
        self.point_3d(17, Point::new(0.0, 1.0));
        self.integer(76, 0);
        self.handle(330, space);
    }
}
