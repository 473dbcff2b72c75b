//! Every sentence a person reads that is not knowledge: one function or constant for each message.

pub mod choice;
pub mod doubt;
pub mod explain;
pub mod explained;
pub mod judgement;
pub mod number;
pub mod picture;
pub mod receipt;
pub mod sheet;
pub mod step;
