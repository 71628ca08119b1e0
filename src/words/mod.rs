//! Every sentence that an answer becomes, once, for all faces.

pub mod verdict;
