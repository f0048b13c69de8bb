//! Three-vectors as arrays.

/// x, y and z.
pub type V3 = [f64; 3];

/// The sum.
pub fn add(a: V3, b: V3) -> V3 {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

/// `a` less `b`.
pub fn sub(a: V3, b: V3) -> V3 {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

/// So many times over.
pub fn scale(a: V3, by: f64) -> V3 {
    a.map(|c| c * by)
}

/// `a + b * by`.
pub fn along(a: V3, b: V3, by: f64) -> V3 {
    add(a, scale(b, by))
}

/// Between two, `t` of the way from the first.
pub fn mix(a: V3, b: V3, t: f64) -> V3 {
    along(scale(a, 1.0 - t), b, t)
}

/// The scalar product.
pub fn dot(a: V3, b: V3) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// The vector product.
pub fn cross(a: V3, b: V3) -> V3 {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

/// Length.
pub fn norm(a: V3) -> f64 {
    dot(a, a).sqrt()
}

/// How far apart two points are.
pub fn distance(a: V3, b: V3) -> f64 {
    norm(sub(a, b))
}

/// The unit vector along `a`; zero stays zero.
pub fn unit(a: V3) -> V3 {
    let length = norm(a);
    if length > 0.0 { scale(a, 1.0 / length) } else { a }
}

/// Whether two points are nearer to each other than `gap`, m.
pub fn same_place(a: V3, b: V3, gap: f64) -> bool {
    distance(a, b) < gap
}
