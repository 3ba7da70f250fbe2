//! What the command line asks for in the place of what the files say.

/// What the command line puts in the place of the file's.
#[derive(Clone, Copy, Debug, Default)]
pub struct Overrides {
    /// Iterations planned, certain; own counts are cut at it and the horizon is raised to it.
    pub iterations: Option<u32>,
    /// Copies of every part in each iteration.
    pub copies: Option<u32>,
    /// Every closed route open again: what there would be without what closed them.
    pub reopened: bool,
}
