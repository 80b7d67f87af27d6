//! Do we give the numbers that are in print?

#![allow(missing_docs)]

mod published {
    mod mendel;
    mod support;
    mod third_generation;
}
