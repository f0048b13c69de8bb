//! Sizes of paper, and what drawings are put on.

use kurbo::Size;

use super::OVERLAP_MM;

/// A size of paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 297 by 210 mm.
    A4,
    /// 420 by 297 mm.
    A3,
    /// 11 by 8½ in.
    Letter,
    /// 17 by 11 in.
    Tabloid,
}

impl Paper {
    /// Every size.
    pub const ALL: [Self; 4] = [Self::A4, Self::A3, Self::Letter, Self::Tabloid];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::A3 => "A3",
            Self::Letter => "Letter",
            Self::Tabloid => "Tabloid",
        }
    }

    /// The size of this name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|paper| paper.name() == name)
    }

    /// Width and height lying down, mm (ISO 216; ANSI Y14.1).
    pub const fn size_mm(self) -> Size {
        match self {
            Self::A4 => Size::new(297.0, 210.0),
            Self::A3 => Size::new(420.0, 297.0),
            Self::Letter => Size::new(279.4, 215.9),
            Self::Tabloid => Size::new(431.8, 279.4),
        }
    }

    /// Width and height standing, mm.
    pub fn standing_mm(self) -> Size {
        let lying = self.size_mm();
        Size::new(lying.height, lying.width)
    }
}

/// What drawings are put on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pages {
    /// Sheets of this, to be joined; `None` is a sheet for each drawing as large as it needs, in several pages only
    /// where one would be larger than a page may be.
    pub paper: Option<Paper>,
    /// What sheets share where they are joined, mm.
    pub overlap_mm: f64,
}

impl Default for Pages {
    fn default() -> Self {
        Self { paper: None, overlap_mm: OVERLAP_MM }
    }
}
