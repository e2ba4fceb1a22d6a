"""Pages of places and findings, under /m/."""

from django.urls import path

from workshop.inspections import views

app_name = "inspections"
urlpatterns = [
    path("card/<int:pk>/site/", views.site_check, name="site_check"),
    path("card/<int:pk>/check-in/", views.check_in, name="check_in"),
    path("card/<int:pk>/intake/", views.intake, name="intake"),
    path("card/<int:pk>/finding/", views.finding_new, name="finding_new"),
    path("card/<int:pk>/test/", views.test_new, name="test_new"),
    path("card/<int:pk>/codes/", views.codes, name="codes"),
    path("card/<int:pk>/codes/clear/", views.clear, name="clear"),
    path("finding/<uuid:uid>/", views.finding, name="finding"),
    path("finding/<uuid:uid>/cause/", views.link, name="link"),
    path("finding/<uuid:uid>/clip/", views.clip_new, name="clip_new"),
    path("finding/<uuid:uid>/photo/", views.photo_new, name="photo_new"),
    path("finding/<uuid:uid>/photo/<uuid:photo>/mark/", views.photo_mark, name="photo_mark"),
    path("finding/<uuid:uid>/photo/<uuid:photo>/role/", views.photo_role, name="photo_role"),
    path("finding/<uuid:uid>/line/", views.mend, name="mend"),
]
