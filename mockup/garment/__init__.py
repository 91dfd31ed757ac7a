"""Pictures of garments: drawings and photos become views with areas, landmarks and a scale."""
