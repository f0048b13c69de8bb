//! The file itself: pages, the lines they share, the font, bookmarks, and what the file says of itself (ISO 32000-1; XMP
//! as ISO 16684-1 has it). Nothing in it depends on the day.

use pdf_writer::types::PageMode;
use pdf_writer::{Finish as _, Name, Pdf, Rect, Ref, TextStr};
use xmp_writer::{LangId, XmpWriter};

use super::UNITS_PER_MM;
use super::content::{lines, page, run_name};
use super::index::title;
use super::letters::Letters;
use super::sheet::{Page, sheet_name};
use super::tiles::Set;

/// What made the file.
const CREATOR: &str = "scrieve";
/// What a title is to Acrobat and its like, where no language is told.
const ANY_LANGUAGE: LangId<'static> = LangId("x-default");

/// Numbers of objects, as they are given out.
struct Numbers(i32);

impl Numbers {
    fn next(&mut self) -> Ref {
        self.0 += 1;
        Ref::new(self.0)
    }
}

/// The bytes of a file of these runs, after the pages of an index.
pub(super) fn file(sets: &[Set], index: &[Page]) -> Vec<u8> {
    let mut pdf = Pdf::new();
    let mut numbers = Numbers(0);
    let [catalog, tree, resources, info, xmp] = [(); 5].map(|()| numbers.next());
    let pages: Vec<&Page> =
        index.iter().chain(sets.iter().flat_map(|set| set.sheets.iter().map(|sheet| &sheet.page))).collect();
    let ids: Vec<Ref> = pages.iter().map(|_| numbers.next()).collect();
    let runs: Vec<Ref> = sets.iter().map(|_| numbers.next()).collect();
    let bookmarks = bookmarks(&mut pdf, &mut numbers, sets, index.len(), &ids);

    let mut root = pdf.catalog(catalog);
    root.pages(tree).metadata(xmp);
    if let Some(bookmarks) = bookmarks {
        root.outlines(bookmarks).page_mode(PageMode::UseOutlines);
    }
    // Printed as it is, or the yardstick is wrong.
    root.viewer_preferences().display_doc_title(true).insert(Name(b"PrintScaling")).primitive(Name(b"None"));
    root.finish();
    pdf.pages(tree).kids(ids.iter().copied()).count(ids.len() as i32);

    let mut letters = Letters::default();
    for (sheet, id) in pages.iter().zip(&ids) {
        let content = numbers.next();
        let mut written = pdf.page(*id);
        let [width, height] = [sheet.size.width, sheet.size.height].map(|side| (side * UNITS_PER_MM) as f32);
        written.media_box(Rect::new(0.0, 0.0, width, height)).parent(tree).contents(content);
        written.pair(Name(b"Resources"), resources);
        written.finish();
        pdf.stream(content, &page(sheet, sets, &mut letters));
    }
    for (set, id) in sets.iter().zip(&runs) {
        let content = lines(&set.run.drawing);
        let mut form = pdf.form_xobject(*id, &content);
        // Room for a line's breadth round what is drawn, which with what runs on may reach past the run's own box.
        let drawn = set.run.drawing.bounds().unwrap_or(set.run.extent).inflate(BREADTH_MM, BREADTH_MM);
        form.bbox(Rect::new(drawn.x0 as f32, drawn.y0 as f32, drawn.x1 as f32, drawn.y1 as f32));
        form.resources();
        form.finish();
    }
    let fonts = letters.write(&mut pdf, &mut || numbers.next());
    let mut shared = pdf.indirect(resources).start::<pdf_writer::writers::Resources<'_>>();
    let mut named = shared.fonts();
    for (name, font) in &fonts {
        named.pair(Name(name.as_bytes()), *font);
    }
    named.finish();
    let mut objects = shared.x_objects();
    for (run, id) in runs.iter().enumerate() {
        objects.pair(Name(run_name(run).as_bytes()), *id);
    }
    objects.finish();
    shared.finish();
    about(&mut pdf, info, xmp, sets);
    pdf.finish()
}

/// Half of the broadest line there may be, mm, and more.
const BREADTH_MM: f64 = 20.0;

/// What the file says of itself: boat and part, what made it, and the table by its SHA-256.
fn about(pdf: &mut Pdf, info: Ref, xmp: Ref, sets: &[Set]) {
    let title = title(sets);
    let mut tables: Vec<&str> = sets.iter().map(|set| set.run.drawing.table_sha256.as_str()).collect();
    tables.retain(|table| !table.is_empty());
    tables.dedup();
    let of = if tables.is_empty() { String::new() } else { format!("; table SHA-256 {}", tables.join(", ")) };
    // A drawing sheet has a scale of its own.
    let full = if sets.iter().any(|set| set.run.drawing.sheet.is_some()) { "" } else { "full-size " };
    let subject = format!("{full}drawings{of}");
    pdf.document_info(info)
        .title(TextStr(&title))
        .subject(TextStr(&subject))
        .creator(TextStr(CREATOR))
        .producer(TextStr(CREATOR));
    let mut said = XmpWriter::new();
    said.title([(Some(ANY_LANGUAGE), title.as_str())]);
    said.description([(Some(ANY_LANGUAGE), subject.as_str())]);
    said.format("application/pdf");
    said.creator_tool(CREATOR);
    said.producer(CREATOR);
    pdf.metadata(xmp, said.finish(None).as_bytes());
}

/// A bookmark, and those under it.
struct Mark {
    title: String,
    page: Ref,
    under: Vec<Mark>,
}

/// Writes bookmarks for index, parts and sheets: their root, if there is more than a page.
fn bookmarks(pdf: &mut Pdf, numbers: &mut Numbers, sets: &[Set], before: usize, ids: &[Ref]) -> Option<Ref> {
    if ids.len() < 2 {
        return None;
    }
    let mut marks = Vec::new();
    if before > 0 {
        marks.push(Mark { title: "index".to_owned(), page: ids[0], under: Vec::new() });
    }
    let mut at = before;
    for set in sets {
        let pages = &ids[at..at + set.sheets.len()];
        let sheets = set.sheets.iter().zip(pages);
        let under = sheets.map(|(sheet, page)| Mark {
            title: format!("{} {}", set.run.part, sheet_name(sheet.place)),
            page: *page,
            under: Vec::new(),
        });
        let under = if pages.len() > 1 { under.collect() } else { Vec::new() };
        marks.push(Mark { title: set.name.clone(), page: pages[0], under });
        at += pages.len();
    }
    let root = numbers.next();
    let (first, last) = write_marks(pdf, numbers, root, &marks)?;
    pdf.outline(root).first(first).last(last).count(marks.len() as i32);
    Some(root)
}

/// Writes bookmarks of one level under their parent, those below them closed: the first and the last.
fn write_marks(pdf: &mut Pdf, numbers: &mut Numbers, parent: Ref, marks: &[Mark]) -> Option<(Ref, Ref)> {
    let ids: Vec<Ref> = marks.iter().map(|_| numbers.next()).collect();
    for (i, mark) in marks.iter().enumerate() {
        let under = write_marks(pdf, numbers, ids[i], &mark.under);
        let mut item = pdf.outline_item(ids[i]);
        item.title(TextStr(&mark.title)).parent(parent);
        if let Some(before) = i.checked_sub(1) {
            item.prev(ids[before]);
        }
        if let Some(next) = ids.get(i + 1) {
            item.next(*next);
        }
        if let Some((first, last)) = under {
            item.first(first).last(last).count(-(mark.under.len() as i32));
        }
        item.dest().page(mark.page).fit();
    }
    Some((*ids.first()?, *ids.last()?))
}
